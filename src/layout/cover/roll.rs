//! The cutting plan: every piece of the order laid along the roll, pile one way.
//!
//! Pieces of one cover are equally long, so they are laid in drops: lengths cut off the roll one after
//! the other, each holding as many pieces side by side as its width takes. Neighbours may share a zig-zag
//! where it fits. How near the least possible length this comes is proven by [`least_drops`].

use super::{CutEdges, joins::Cut, repeat::next_place};
use crate::job::{Fabric, Turned};

/// So many ways of filling a drop are tried before the best so far is taken.
const TRIES: usize = 5_000;
/// So much is a sum's rounding and no cloth, mm or cm.
const HAIR: f64 = 1e-6;

#[derive(Debug, Clone)]
pub struct RollPlan {
    /// Usable width of the roll, mm.
    pub width: f64,
    pub drops: Vec<Drop>,
    /// Length of one drop, mm.
    pub drop_length: f64,
    /// Length of roll that the order takes, mm.
    pub length: f64,
    /// No way of cutting these pieces from whole lengths of this roll, pile one way, takes less.
    pub least: f64,
    /// What the order would take if the cloth had no repeat.
    pub without_repeat: Option<f64>,
    /// Where the cloth has a repeat: how far before the middle of a motif the first cut is made, mm. What lies
    /// before it on the roll is lost, less than one repeat.
    pub first_cut: Option<f64>,
    /// The most that lies before the first cut, mm: a repeat, or nothing where there is none.
    pub lead: f64,
}

impl RollPlan {
    /// The length of roll that the order takes, mm, as it is said and sold: whole centimetres, never less.
    pub fn takes(&self) -> f64 {
        whole_centimetres(self.length)
    }

    /// What has to be bought, mm, wherever on the motif the roll begins.
    pub fn to_buy(&self) -> f64 {
        whole_centimetres(self.length + self.lead)
    }
}

/// The next whole centimetre, mm.
pub(super) fn whole_centimetres(length: f64) -> f64 {
    (length / 10.0 - HAIR).ceil() * 10.0
}

/// A length cut off the roll.
#[derive(Debug, Clone)]
pub struct Drop {
    /// From the beginning of the roll, mm.
    pub at: f64,
    /// From the left as they lie, back up.
    pub pieces: Vec<Laid>,
}

/// One piece in its drop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Laid {
    /// Which panel of the order, from 1.
    pub panel: u32,
    /// Which of the pieces that are laid, counted from nought.
    pub piece: usize,
    /// Its left edge as it lies, from the left of the usable width, mm.
    pub x: f64,
}

/// A piece that is cut off the roll.
#[derive(Debug, Clone)]
pub struct RollPiece {
    pub cut: Cut,
    /// Where the cover that it is a piece of ends.
    pub edges: CutEdges,
    /// Where a motif's middle is to lie, in the piece's own sheet frame, where the cloth has a repeat.
    pub motif: Option<[f64; 2]>,
}

/// Lays `quantity` of each of these pieces, all equally long: of one cover, or of the two hands of a pair.
pub fn lay(fabric: &Fabric, pieces: &[RollPiece], quantity: u32) -> RollPlan {
    let sizes: Vec<[f64; 2]> =
        pieces.iter().map(|piece| piece.cut.lying(fabric.turned.value)).collect();
    let beside = |left: &RollPiece| -> Vec<f64> {
        pieces.iter().map(|right| apart(fabric, left, right)).collect()
    };
    let apart: Vec<Vec<f64>> = pieces.iter().map(beside).collect();
    let plain = Roll { fabric, pieces, sizes: &sizes, apart: &apart, on_motif: false };
    // Every piece has its motif equally far above its bottom.
    let all_have_one = pieces.iter().all(|piece| piece.motif.is_some());
    let repeat = fabric.repeat.as_ref().zip(pieces[0].motif).filter(|_| all_have_one);
    let roll = Roll { on_motif: repeat.is_some(), ..plain };
    let height = roll.longest();
    let mut drops = roll.drops(quantity);
    let drop_length = match repeat {
        Some((repeat, _)) => (height / repeat.down.value).ceil() * repeat.down.value,
        None => height,
    };
    let of_drops = |n: usize, each: f64| (n as f64 - 1.0) * each + height;
    let length = of_drops(drops.len(), drop_length);
    let least = of_drops(roll.least_drops(quantity), drop_length);
    let without_repeat = repeat.map(|_| of_drops(plain.drops(quantity).len(), height));
    for (i, drop) in drops.iter_mut().enumerate() {
        drop.at = i as f64 * drop_length;
    }
    RollPlan {
        width: fabric.roll_width.value,
        drops,
        drop_length,
        length,
        least,
        without_repeat,
        // Every piece's bottom is at the beginning of its drop.
        first_cut: repeat.map(|(repeat, motif)| motif[1].rem_euclid(repeat.down.value)),
        lead: repeat.map_or(0.0, |(repeat, _)| repeat.down.value),
    }
}

/// From the left edge of one piece to the left edge of the next, as they lie back up: where the right
/// side of the cover lies left.
fn apart(fabric: &Fabric, a: &RollPiece, b: &RollPiece) -> f64 {
    if fabric.turned.value == Turned::Sideways {
        return a.cut.lying(Turned::Sideways)[0];
    }
    // As it lies, a piece's right border is its left side on the front.
    let heights = a.cut.round.iter().chain(&b.cut.round).map(|p| p.y);
    let (a_right, b_right) = (a.cut.bounds()[2], b.cut.bounds()[2]);
    heights
        .map(|y| {
            (a_right - a.cut.cut_at(0, y, &a.edges)) - (b_right - b.cut.cut_at(1, y, &b.edges))
        })
        .fold(f64::NEG_INFINITY, f64::max)
}

#[derive(Clone, Copy)]
struct Roll<'a> {
    fabric: &'a Fabric,
    pieces: &'a [RollPiece],
    sizes: &'a [[f64; 2]],
    /// From the left edge of one piece to the left edge of its right neighbour.
    apart: &'a [Vec<f64>],
    /// Whether motifs are to lie where the pieces want them.
    on_motif: bool,
}

impl Roll<'_> {
    /// Fills each drop as full as it goes with what is left to lay.
    fn drops(&self, quantity: u32) -> Vec<Drop> {
        let mut left = vec![quantity; self.pieces.len()];
        let mut drops = Vec::new();
        while left.iter().any(|&n| n > 0) {
            let mut best = Filling::default();
            let mut tries = TRIES;
            self.fill(&mut Filling::default(), &mut left.clone(), &mut best, &mut tries);
            assert!(!best.pieces.is_empty(), "every piece was cut to fit the roll's width");
            // The same filling as often as the pieces last.
            let used =
                |piece: usize| best.pieces.iter().filter(|(p, _)| *p == piece).count() as u32;
            let times = (0..left.len())
                .filter(|&piece| used(piece) > 0)
                .map(|piece| left[piece] / used(piece))
                .min()
                .expect("a filling has pieces");
            for _ in 0..times {
                let pieces = best.pieces.iter().map(|&(piece, x)| {
                    left[piece] -= 1;
                    Laid { panel: quantity - left[piece], piece, x }
                });
                drops.push(Drop { at: 0.0, pieces: pieces.collect() });
            }
        }
        drops
    }

    /// Tries every order of pieces side by side, and keeps the one that uses most of the width.
    fn fill(&self, now: &mut Filling, left: &mut [u32], best: &mut Filling, tries: &mut usize) {
        if now.used > best.used {
            *best = now.clone();
        }
        for piece in 0..left.len() {
            if left[piece] == 0 || *tries == 0 {
                continue;
            }
            *tries -= 1;
            let Some(x) = self.place(now.pieces.last().copied(), piece) else { continue };
            left[piece] -= 1;
            now.pieces.push((piece, x));
            now.used += self.sizes[piece][0];
            self.fill(now, left, best, tries);
            now.used -= self.sizes[piece][0];
            now.pieces.pop();
            left[piece] += 1;
        }
    }

    /// Where a piece comes to lie right of another, if the roll is wide enough.
    fn place(&self, after: Option<(usize, f64)>, piece: usize) -> Option<f64> {
        let mut x = after.map_or(0.0, |(before, at)| at + self.apart[before][piece]);
        let motif = self.pieces[piece].motif.filter(|_| self.on_motif);
        if let (Some(repeat), Some(motif)) = (&self.fabric.repeat, motif) {
            x = next_place(repeat, motif, x);
        }
        (x + self.sizes[piece][0] <= self.fabric.roll_width.value + 1e-6).then_some(x)
    }

    /// Of a piece, mm. Those of a pair are alike but for the last bits.
    fn longest(&self) -> f64 {
        self.sizes.iter().map(|size| size[1]).fold(0.0, f64::max)
    }

    /// Cloth in a piece, mm2.
    fn area(&self, piece: usize) -> f64 {
        let (RollPiece { cut, edges, .. }, [width, height]) =
            (&self.pieces[piece], self.sizes[piece]);
        if self.fabric.turned.value == Turned::Sideways {
            return width * height;
        }
        let [_, bottom, _, top] = cut.bounds();
        let mut heights: Vec<f64> = cut.round.iter().map(|p| p.y).chain([bottom, top]).collect();
        heights.sort_by(f64::total_cmp);
        let wide = |y: f64| cut.cut_at(1, y, edges) - cut.cut_at(0, y, edges);
        // Both borders are straight from one height to the next.
        heights.windows(2).map(|y| (y[1] - y[0]) * (wide(y[0]) + wide(y[1])) / 2.0).sum()
    }

    /// No laying takes fewer drops: they have to hold the cloth there is in the pieces, and at any height
    /// the pieces side by side have to find room in the roll's width. A zig-zag may reach into its
    /// neighbour, so a piece counts there only with the width that it has at every height. For those bins:
    /// the bound of Martello and Toth, Knapsack Problems, chapter 8 (from memory), over all their thresholds.
    fn least_drops(&self, quantity: u32) -> usize {
        let roll = self.fabric.roll_width.value;
        let cloth: f64 = (0..self.pieces.len()).map(|piece| self.area(piece)).sum();
        let in_area = f64::from(quantity) * cloth / (roll * self.longest());
        let mut widths: Vec<f64> = Vec::new();
        for (RollPiece { cut, edges, .. }, size) in self.pieces.iter().zip(self.sizes) {
            let width = match self.fabric.turned.value {
                Turned::Sideways => size[0],
                Turned::Upright => {
                    let inner =
                        |side: usize| cut.round.iter().map(move |p| cut.cut_at(side, p.y, edges));
                    let left = inner(0).fold(f64::NEG_INFINITY, f64::max);
                    let right = inner(1).fold(f64::INFINITY, f64::min);
                    (right - left).max(0.0)
                }
            };
            widths.extend(std::iter::repeat_n(width, quantity as usize));
        }
        let mut least = (in_area - 1e-9).ceil() as usize;
        for threshold in widths.iter().copied().filter(|w| *w <= roll / 2.0 + HAIR).chain([0.0]) {
            let large = widths.iter().filter(|w| **w > roll - threshold + HAIR).count();
            let middling: Vec<f64> = widths
                .iter()
                .copied()
                .filter(|w| *w <= roll - threshold + HAIR && *w > roll / 2.0 + HAIR)
                .collect();
            let small: f64 =
                widths.iter().filter(|w| **w <= roll / 2.0 + HAIR && **w >= threshold).sum();
            let room = middling.len() as f64 * roll - middling.iter().sum::<f64>();
            let more = ((small - room) / roll - 1e-9).ceil().max(0.0) as usize;
            least = least.max(large + middling.len() + more);
        }
        least
    }
}

/// Pieces side by side, and the width they use.
#[derive(Clone, Default)]
struct Filling {
    pieces: Vec<(usize, f64)>,
    used: f64,
}
