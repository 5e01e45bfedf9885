//! Which places of a sheet a tool reaches, for every way in which the sheet can lie.

use super::{Lay, Turn, Um};
use std::{collections::BTreeMap, ops::Range};

/// Where the tool can go and where the sheet may lie, seen from X0 Y0.
pub(super) struct Reach {
    /// Least and greatest place of a tool's middle.
    pub low: [Um; 2],
    pub high: [Um; 2],
    /// Boxes that stand on the bed: x from, to; y from, to.
    pub clamps: Vec<[[Um; 2]; 2]>,
    /// Where the sheet's outside may lie: the bed, and what it may lie over.
    pub rest: [[Um; 2]; 2],
    pub sheet: [Um; 2],
    /// How the sheet may be turned.
    pub turns: &'static [Turn],
    /// What is to be made, and after it the holes that may be made for dowels.
    pub places: Vec<Place>,
    /// How many are to be made.
    pub wanted: usize,
    /// Which of them dowels may stand in.
    pub for_dowels: Range<usize>,
}

/// A place on the sheet where something is made in one go: a hole, or a stretch of a cut.
#[derive(Debug, Clone)]
pub(super) struct Place {
    /// The box that the tool's middle keeps to.
    pub low: [Um; 2],
    pub high: [Um; 2],
    /// How far from each clamp the tool's middle keeps; negative where the clamp is in nobody's way.
    pub beside: Vec<Um>,
    /// The tool's diameter.
    pub wide: Um,
}

impl Place {
    /// Round a middle.
    pub fn round(at: [Um; 2], circle: Um, beside: Vec<Um>, wide: Um) -> Self {
        Place { low: at.map(|at| at - circle), high: at.map(|at| at + circle), beside, wide }
    }

    pub const fn middle(&self) -> [Um; 2] {
        [(self.low[0] + self.high[0]) / 2, (self.low[1] + self.high[1]) / 2]
    }

    pub const fn corners(&self) -> [[Um; 2]; 4] {
        let ([x0, y0], [x1, y1]) = (self.low, self.high);
        [[x0, y0], [x1, y0], [x1, y1], [x0, y1]]
    }

    /// The same box when the sheet lies so: its least and its greatest corner.
    pub fn lying(&self, lay: &Lay) -> [[Um; 2]; 2] {
        let [a, b] = [self.low, self.high].map(|corner| lay.place(corner));
        [[a[0].min(b[0]), a[1].min(b[1])], [a[0].max(b[0]), a[1].max(b[1])]]
    }
}

/// A set of places, by their index.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Set(Vec<u64>);

impl Set {
    pub fn none(n: usize) -> Self {
        Set(vec![0; n.div_ceil(64)])
    }

    pub fn put(&mut self, i: usize) {
        self.0[i / 64] |= 1 << (i % 64);
    }

    pub fn has(&self, i: usize) -> bool {
        self.0[i / 64] >> (i % 64) & 1 == 1
    }

    pub fn count(&self) -> usize {
        self.0.iter().map(|word| word.count_ones() as usize).sum()
    }

    pub fn is_empty(&self) -> bool {
        self.0.iter().all(|word| *word == 0)
    }

    pub fn and(&self, other: &Set) -> Set {
        Set(self.0.iter().zip(&other.0).map(|(a, b)| a & b).collect())
    }

    pub fn or(&self, other: &Set) -> Set {
        Set(self.0.iter().zip(&other.0).map(|(a, b)| a | b).collect())
    }

    pub fn without(&self, other: &Set) -> Set {
        Set(self.0.iter().zip(&other.0).map(|(a, b)| a & !b).collect())
    }

    pub fn members(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.0.len() * 64).filter(|&i| self.has(i))
    }
}

/// One way of lying down, and what is reached then.
#[derive(Debug, Clone)]
pub(super) struct Placed {
    pub lay: Lay,
    pub reached: Set,
    pub trouble: Trouble,
}

/// How much trouble a way of lying is: turns first, then sides that do not lie at the zero, then those
/// that cannot be a hair off, then how far off.
pub(super) type Trouble = (Turn, usize, usize, Um);

/// One coordinate of the sheet's corner: which places are within reach that way, and beside each clamp.
struct Slide {
    corner: Um,
    /// Is what is reached about to change here?
    tight: bool,
    within: Set,
    barred: Vec<Set>,
}

impl Slide {
    fn trouble(&self) -> (bool, bool, Um) {
        (self.corner != 0, self.tight, self.corner.abs())
    }
}

impl Reach {
    /// All that is to be made.
    pub fn all_wanted(&self) -> Set {
        let mut set = Set::none(self.places.len());
        (0..self.wanted).for_each(|i| set.put(i));
        set
    }

    /// Least and greatest corner of the sheet in this turn, or `None` where it has no room.
    fn room(&self, turn: Turn, axis: usize) -> Option<[Um; 2]> {
        let size = Lay { turn, corner: [0, 0], sheet: self.sheet }.size();
        let [low, high] = [self.rest[axis][0], self.rest[axis][1] - size[axis]];
        (low <= high).then_some([low, high])
    }

    pub fn may_lie(&self, lay: &Lay) -> bool {
        (0..2).all(|axis| {
            self.room(lay.turn, axis)
                .is_some_and(|[low, high]| (low..=high).contains(&lay.corner[axis]))
        })
    }

    /// The places reached when the sheet lies so.
    pub fn reached(&self, lay: &Lay) -> Set {
        let mut set = Set::none(self.places.len());
        for (i, place) in self.places.iter().enumerate() {
            let [low, high] = place.lying(lay);
            let within =
                (0..2).all(|axis| self.low[axis] <= low[axis] && high[axis] <= self.high[axis]);
            let barred = || {
                self.clamps.iter().zip(&place.beside).any(|(clamp, &beside)| {
                    (0..2).all(|axis| is_beside(clamp[axis], beside, [low[axis], high[axis]]))
                })
            };
            if within && !barred() {
                set.put(i);
            }
        }
        set
    }

    /// Is all that is reached, and barred, alike on both sides of the middle of one axis? Then a sheet that is
    /// turned over reaches what it reaches when it is turned end for end: nothing is won by it.
    pub fn is_even(&self) -> bool {
        // A clamp, and how far off it each place keeps: its mirror image is one that keeps them as far off.
        let kept: Vec<(&[[Um; 2]; 2], Vec<Um>)> = self
            .clamps
            .iter()
            .enumerate()
            .map(|(i, clamp)| (clamp, self.places.iter().map(|place| place.beside[i]).collect()))
            .collect();
        (0..2).any(|axis| {
            let middle = self.low[axis] + self.high[axis];
            let over = |[from, to]: [Um; 2]| [middle - to, middle - from];
            let has_mirror = |(clamp, beside): &(&[[Um; 2]; 2], Vec<Um>)| {
                let mut mirrored = **clamp;
                mirrored[axis] = over(mirrored[axis]);
                kept.iter().any(|(other, there)| **other == mirrored && there == beside)
            };
            over(self.rest[axis]) == self.rest[axis] && kept.iter().all(has_mirror)
        })
    }

    /// Whether the sheet can lie on the bed at all, clamps or not.
    pub fn has_room(&self) -> bool {
        self.turns.iter().copied().any(|turn| (0..2).all(|axis| self.room(turn, axis).is_some()))
    }

    /// Every set of places that some way of lying reaches and that no sliding makes larger, each with the
    /// plainest way. What is reached changes only where a place meets the edge of the reach or comes beside a clamp,
    /// so these are all that matter.
    pub fn ways(&self) -> Vec<Placed> {
        let mut ways: BTreeMap<Set, (Trouble, Lay)> = BTreeMap::new();
        for &turn in self.turns {
            let (Some(xs), Some(ys)) = (self.slides(turn, 0), self.slides(turn, 1)) else {
                continue;
            };
            for x in &xs {
                for y in &ys {
                    let bars = x.barred.iter().zip(&y.barred);
                    let within = x.within.and(&y.within);
                    let reached = bars.fold(within, |set, (a, b)| set.without(&a.and(b)));
                    if reached.is_empty() {
                        continue;
                    }
                    let lay = Lay { turn, corner: [x.corner, y.corner], sheet: self.sheet };
                    let off = [x, y].iter().filter(|slide| slide.corner != 0).count();
                    let tight = [x, y].iter().filter(|slide| slide.tight).count();
                    let trouble = (turn, off, tight, x.corner.abs() + y.corner.abs());
                    ways.entry(reached)
                        .and_modify(|old| {
                            if trouble < old.0 {
                                *old = (trouble, lay);
                            }
                        })
                        .or_insert((trouble, lay));
                }
            }
        }
        let placed = |(reached, (trouble, lay))| Placed { lay, reached, trouble };
        ways.into_iter().map(placed).collect()
    }

    /// The corners of the sheet at which something changes along one axis, and those in the middle between.
    fn slides(&self, turn: Turn, axis: usize) -> Option<Vec<Slide>> {
        let [low, high] = self.room(turn, axis)?;
        let flat = Lay { turn, corner: [0, 0], sheet: self.sheet };
        let places: Vec<[Um; 2]> =
            self.places.iter().map(|place| place.lying(&flat).map(|corner| corner[axis])).collect();
        let mut corners = vec![0, low, high];
        for (place, &[from, to]) in self.places.iter().zip(&places) {
            corners.extend([self.low[axis] - from, self.high[axis] - to]);
            for (clamp, beside) in self.clamps.iter().zip(&place.beside) {
                corners.extend([clamp[axis][0] - beside - to, clamp[axis][1] + beside - from]);
            }
        }
        corners.retain(|corner| (low..=high).contains(corner));
        corners.sort_unstable();
        corners.dedup();
        let middles: Vec<Um> = corners.windows(2).map(|w| (w[0] + w[1]) / 2).collect();
        let tight = corners.clone();
        corners.extend(middles);
        corners.sort_unstable();
        corners.dedup();
        let set = |inside: &dyn Fn(usize, [Um; 2]) -> bool, corner: Um| {
            let mut set = Set::none(places.len());
            for (i, place) in places.iter().enumerate() {
                if inside(i, place.map(|end| end + corner)) {
                    set.put(i);
                }
            }
            set
        };
        let slide = |corner: Um| Slide {
            corner,
            tight: corner != 0 && tight.binary_search(&corner).is_ok(),
            within: set(&|_, [from, to]| self.low[axis] <= from && to <= self.high[axis], corner),
            barred: (0..self.clamps.len())
                .map(|k| {
                    let barred = |i: usize, ends| {
                        is_beside(self.clamps[k][axis], self.places[i].beside[k], ends)
                    };
                    set(&barred, corner)
                })
                .collect(),
        };
        // Of those that reach alike, the plainest.
        let mut slides: Vec<Slide> = corners.into_iter().map(slide).collect();
        slides.sort_by(|a, b| {
            let (a_set, b_set) = ((&a.within, &a.barred), (&b.within, &b.barred));
            a_set.cmp(&b_set).then(a.trouble().cmp(&b.trouble()))
        });
        slides.dedup_by(|b, a| a.within == b.within && a.barred == b.barred);
        Some(slides)
    }

    /// Can some way of lying have both places within reach? Clamps are not looked at, so a "no" is certain.
    pub fn together(&self, a: usize, b: usize) -> bool {
        self.turns.iter().copied().any(|turn| {
            let flat = Lay { turn, corner: [0, 0], sheet: self.sheet };
            let at = [a, b].map(|i| self.places[i].lying(&flat));
            (0..2).all(|axis| {
                self.room(turn, axis).is_some_and(|[low, high]| {
                    let least = at.iter().map(|[from, _]| self.low[axis] - from[axis]);
                    let most = at.iter().map(|[_, to]| self.high[axis] - to[axis]);
                    least.fold(low, Um::max) <= most.fold(high, Um::min)
                })
            })
        })
    }
}

/// Whether a tool whose middle is somewhere from one end to the other comes nearer to a clamp than it keeps. The
/// edges themselves are free.
fn is_beside([from, to]: [Um; 2], beside: Um, [low, high]: [Um; 2]) -> bool {
    from - beside < high && low < to + beside
}
