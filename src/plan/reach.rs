//! Which holes of a sheet a tool reaches, for every way in which the sheet can lie.

use super::{Lay, Turn, Um};
use std::collections::BTreeMap;

/// What the tool can reach and where the sheet may lie, seen from X0 Y0.
pub(super) struct Reach {
    /// Least and greatest place of a hole's middle.
    pub low: [Um; 2],
    pub high: [Um; 2],
    /// Where no hole's middle may be: x from, to; y from, to. The edges themselves are free.
    pub barred: Vec<[[Um; 2]; 2]>,
    /// Where the sheet's outside may lie: the bed, and what it may lie over.
    pub rest: [[Um; 2]; 2],
    pub sheet: [Um; 2],
    /// How the sheet may be turned.
    pub turns: &'static [Turn],
    /// Places on the sheet: the holes to be made, and after them those that may be made for dowels.
    pub holes: Vec<[Um; 2]>,
    /// How many are to be made.
    pub wanted: usize,
}

/// A set of holes, by their index.
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

/// One coordinate of the sheet's corner: which holes are within reach that way, and beneath each bar.
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
    /// The holes that are to be made.
    pub fn all_wanted(&self) -> Set {
        let mut set = Set::none(self.holes.len());
        (0..self.wanted).for_each(|i| set.put(i));
        set
    }

    /// The holes that dowels may stand in: those of their own where there are any.
    pub fn for_dowels(&self) -> std::ops::Range<usize> {
        if self.wanted < self.holes.len() { self.wanted..self.holes.len() } else { 0..self.wanted }
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

    /// The holes reached when the sheet lies so.
    pub fn reached(&self, lay: &Lay) -> Set {
        let mut set = Set::none(self.holes.len());
        for (i, &hole) in self.holes.iter().enumerate() {
            let at = lay.place(hole);
            let within = (0..2).all(|axis| (self.low[axis]..=self.high[axis]).contains(&at[axis]));
            let barred = self
                .barred
                .iter()
                .any(|bar| (0..2).all(|axis| bar[axis][0] < at[axis] && at[axis] < bar[axis][1]));
            if within && !barred {
                set.put(i);
            }
        }
        set
    }

    /// Is all that is reached, and barred, alike on both sides of the middle of one axis? Then a sheet that is
    /// turned over reaches what it reaches when it is turned end for end: nothing is won by it.
    pub fn is_even(&self) -> bool {
        (0..2).any(|axis| {
            let middle = self.low[axis] + self.high[axis];
            let over = |[from, to]: [Um; 2]| [middle - to, middle - from];
            let mirrored = |bar: &[[Um; 2]; 2]| {
                let mut bar = *bar;
                bar[axis] = over(bar[axis]);
                bar
            };
            over(self.rest[axis]) == self.rest[axis]
                && self.barred.iter().all(|bar| self.barred.contains(&mirrored(bar)))
        })
    }

    /// Whether the sheet can lie on the bed at all, clamps or not.
    pub fn has_room(&self) -> bool {
        self.turns.iter().copied().any(|turn| (0..2).all(|axis| self.room(turn, axis).is_some()))
    }

    /// Every set of holes that some way of lying reaches and that no sliding makes larger, each with the
    /// plainest way. What is reached changes only where a hole meets the edge of the reach or of a bar, so
    /// these are all that matter.
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
        let places: Vec<Um> = self.holes.iter().map(|&hole| flat.place(hole)[axis]).collect();
        let mut edges = vec![self.low[axis], self.high[axis]];
        edges.extend(self.barred.iter().flat_map(|bar| bar[axis]));
        let mut corners: Vec<Um> = places
            .iter()
            .flat_map(|place| edges.iter().map(move |edge| edge - place))
            .chain([0, low, high])
            .filter(|corner| (low..=high).contains(corner))
            .collect();
        corners.sort_unstable();
        corners.dedup();
        let middles: Vec<Um> = corners.windows(2).map(|w| (w[0] + w[1]) / 2).collect();
        let tight = corners.clone();
        corners.extend(middles);
        corners.sort_unstable();
        corners.dedup();
        let set = |inside: &dyn Fn(Um) -> bool, corner: Um| {
            let mut set = Set::none(places.len());
            for (i, place) in places.iter().enumerate() {
                if inside(place + corner) {
                    set.put(i);
                }
            }
            set
        };
        let slide = |corner: Um| Slide {
            corner,
            tight: corner != 0 && tight.binary_search(&corner).is_ok(),
            within: set(&|at| (self.low[axis]..=self.high[axis]).contains(&at), corner),
            barred: self
                .barred
                .iter()
                .map(|bar| set(&|at| bar[axis][0] < at && at < bar[axis][1], corner))
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

    /// Can some way of lying have both holes within reach? Clamps are not looked at, so a "no" is certain.
    pub fn together(&self, a: usize, b: usize) -> bool {
        self.turns.iter().copied().any(|turn| {
            let flat = Lay { turn, corner: [0, 0], sheet: self.sheet };
            let at = [flat.place(self.holes[a]), flat.place(self.holes[b])];
            (0..2).all(|axis| {
                self.room(turn, axis).is_some_and(|[low, high]| {
                    let least = at.iter().map(|p| self.low[axis] - p[axis]).fold(low, Um::max);
                    let most = at.iter().map(|p| self.high[axis] - p[axis]).fold(high, Um::min);
                    least <= most
                })
            })
        })
    }
}
