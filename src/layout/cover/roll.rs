//! The cutting plan: every piece of the order laid along the roll, pile one way.
//!
//! Pieces of one cover are equally long, so they are laid in drops: lengths cut off the roll one after
//! the other, each holding as many pieces side by side as its width takes. Neighbours may share a zig-zag
//! where it fits. How near the least possible length this comes is proven by [`least_drops`].

use super::{CutEdges, joins::Cut, repeat::next_place};
use crate::job::{Fabric, Turned};

/// So many ways of filling a drop are tried before the best so far is taken.
const TRIES: usize = 5_000;
/// So much over a whole centimetre is a sum's rounding, not cloth, cm.
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
    /// Which piece of the cover, counted from nought.
    pub piece: usize,
    /// Its left edge as it lies, from the left of the usable width, mm.
    pub x: f64,
}

/// Lays `quantity` covers cut into `cuts`. `motif` is where a motif's middle is to lie, in each piece's own
/// sheet frame, where the cloth has a repeat.
pub fn lay(
    fabric: &Fabric,
    cuts: &[Cut],
    edges: &CutEdges,
    quantity: u32,
    motif: Option<&[[f64; 2]]>,
) -> RollPlan {
    let sizes: Vec<[f64; 2]> = cuts.iter().map(|cut| cut.lying(fabric.turned.value)).collect();
    let height = sizes[0][1];
    let apart: Vec<Vec<f64>> = (0..cuts.len())
        .map(|left| (0..cuts.len()).map(|right| apart(fabric, cuts, edges, left, right)).collect())
        .collect();
    let plain = Roll { fabric, cuts, edges, sizes: &sizes, apart: &apart, motif: None };
    let roll = Roll { motif, ..plain };
    let drops = roll.drops(quantity);
    let drop_length = match (&fabric.repeat, motif) {
        (Some(repeat), Some(_)) => (height / repeat.down.value).ceil() * repeat.down.value,
        _ => height,
    };
    let of_drops = |n: usize, each: f64| (n as f64 - 1.0) * each + height;
    let length = of_drops(drops.len(), drop_length);
    let least = of_drops(roll.least_drops(quantity), drop_length);
    let without_repeat = motif.map(|_| of_drops(plain.drops(quantity).len(), height));
    let mut drops = drops;
    for (i, drop) in drops.iter_mut().enumerate() {
        drop.at = i as f64 * drop_length;
    }
    // Every piece's bottom is at the beginning of its drop, and all have their motif equally far above it.
    let first_cut = fabric
        .repeat
        .as_ref()
        .zip(motif)
        .map(|(repeat, motif)| motif[0][1].rem_euclid(repeat.down.value));
    RollPlan {
        width: fabric.roll_width.value,
        drops,
        drop_length,
        length,
        least,
        without_repeat,
        first_cut,
        lead: fabric.repeat.as_ref().zip(motif).map_or(0.0, |(repeat, _)| repeat.down.value),
    }
}

/// From the left edge of one piece to the left edge of the next, as they lie back up: where the right
/// side of the cover lies left.
fn apart(fabric: &Fabric, cuts: &[Cut], edges: &CutEdges, left: usize, right: usize) -> f64 {
    if fabric.turned.value == Turned::Sideways {
        return cuts[left].lying(Turned::Sideways)[0];
    }
    let (a, b) = (&cuts[left], &cuts[right]);
    // As it lies, a piece's right border is its left side on the front.
    let heights = a.round.iter().chain(&b.round).map(|p| p.y);
    let (a_right, b_right) = (a.bounds()[2], b.bounds()[2]);
    heights
        .map(|y| (a_right - a.cut_at(0, y, edges)) - (b_right - b.cut_at(1, y, edges)))
        .fold(f64::NEG_INFINITY, f64::max)
}

#[derive(Clone, Copy)]
struct Roll<'a> {
    fabric: &'a Fabric,
    cuts: &'a [Cut],
    edges: &'a CutEdges,
    sizes: &'a [[f64; 2]],
    /// From the left edge of one piece to the left edge of its right neighbour.
    apart: &'a [Vec<f64>],
    motif: Option<&'a [[f64; 2]]>,
}

impl Roll<'_> {
    /// Fills each drop as full as it goes with what is left to lay.
    fn drops(&self, quantity: u32) -> Vec<Drop> {
        let mut left = vec![quantity; self.cuts.len()];
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
        if let (Some(repeat), Some(motif)) = (&self.fabric.repeat, self.motif) {
            x = next_place(repeat, motif[piece], x);
        }
        (x + self.sizes[piece][0] <= self.fabric.roll_width.value + 1e-6).then_some(x)
    }

    /// Cloth in a piece, mm2.
    fn area(&self, piece: usize) -> f64 {
        let (cut, [width, height]) = (&self.cuts[piece], self.sizes[piece]);
        if self.fabric.turned.value == Turned::Sideways {
            return width * height;
        }
        let [_, bottom, _, top] = cut.bounds();
        let mut heights: Vec<f64> = cut.round.iter().map(|p| p.y).chain([bottom, top]).collect();
        heights.sort_by(f64::total_cmp);
        let wide = |y: f64| cut.cut_at(1, y, self.edges) - cut.cut_at(0, y, self.edges);
        // Both borders are straight from one height to the next.
        heights.windows(2).map(|y| (y[1] - y[0]) * (wide(y[0]) + wide(y[1])) / 2.0).sum()
    }

    /// No laying takes fewer drops: they have to hold the cloth there is in the pieces, and at any height
    /// the pieces side by side have to find room in the roll's width. A zig-zag may reach into its
    /// neighbour, so a piece counts there only with the width that it has at every height. For those bins:
    /// the bound of Martello and Toth, Knapsack Problems, chapter 8 (from memory), over all their thresholds.
    fn least_drops(&self, quantity: u32) -> usize {
        let roll = self.fabric.roll_width.value;
        let cloth: f64 = (0..self.cuts.len()).map(|piece| self.area(piece)).sum();
        let in_area = f64::from(quantity) * cloth / (roll * self.sizes[0][1]);
        let mut widths: Vec<f64> = Vec::new();
        for (cut, size) in self.cuts.iter().zip(self.sizes) {
            let width = match self.fabric.turned.value {
                Turned::Sideways => size[0],
                Turned::Upright => {
                    let inner = |side: usize| {
                        cut.round.iter().map(move |p| cut.cut_at(side, p.y, self.edges))
                    };
                    let left = inner(0).fold(f64::NEG_INFINITY, f64::max);
                    let right = inner(1).fold(f64::INFINITY, f64::min);
                    (right - left).max(0.0)
                }
            };
            widths.extend(std::iter::repeat_n(width, quantity as usize));
        }
        let mut least = (in_area - 1e-9).ceil() as usize;
        for threshold in widths.iter().copied().filter(|w| *w <= roll / 2.0).chain([0.0]) {
            let large = widths.iter().filter(|w| **w > roll - threshold).count();
            let middling: Vec<f64> = widths
                .iter()
                .copied()
                .filter(|w| *w <= roll - threshold && *w > roll / 2.0)
                .collect();
            let small: f64 = widths.iter().filter(|w| **w <= roll / 2.0 && **w >= threshold).sum();
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
