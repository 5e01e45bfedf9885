//! The fewest set-ups in which every place of a sheet is reached, each hole made in exactly one of them.
//!
//! A board is laid by hand once. Two holes drilled in that first set-up go on into the spoilboard, and
//! dowels are put there; every later set-up drops two holes of the board, drilled together in one earlier
//! set-up, onto the same two dowels. Foam has no such holes and is laid by hand each time.
//!
//! **Fewest.** Two bounds hold whatever the search does: holes of which no two ever come within reach
//! together need a set-up each, and no set-up makes more holes than one can reach, less the two that
//! it stands on. Where the search meets a bound its answer is the fewest; where not, it says so.

use super::{
    Lay, Turn, Um,
    budget::Footing,
    reach::{Placed, Reach, Set, Trouble},
};
use std::{
    cell::{Cell, RefCell},
    collections::BTreeMap,
};

/// What holds a sheet in place from one set-up to the next.
#[derive(Debug, Clone, Copy)]
pub(super) enum Located {
    ByHand,
    OnDowels {
        /// Dowels stand at least so far apart.
        apart: Um,
        /// How thick they are.
        thick: Um,
        /// How far play lets each of two holes be from where it should be, mm.
        each: f64,
    },
}

/// A sheet divided.
#[derive(Debug, Clone)]
pub(super) struct Division {
    pub setups: Vec<Laid>,
    pub fewest: Fewest,
}

impl Division {
    /// The same, proven by what was found for a sheet that reaches as much or more.
    pub(super) fn over(self, least: Division) -> Self {
        let fewest = match least.fewest {
            proven if least.setups.len() == self.setups.len() => proven,
            Fewest::Found(known) => Fewest::Found(known),
            _ => Fewest::Found(least.setups.len()),
        };
        Division { fewest, ..self }
    }
}

/// One set-up: how the sheet lies, and the holes that are made.
#[derive(Debug, Clone)]
pub(super) struct Laid {
    pub lay: Lay,
    /// What is made here, of that which may be made only once.
    pub made: Vec<usize>,
    /// All that the tool comes to, whether it is made here or not.
    pub reached: Set,
    /// In the first set-up of several the two holes that go on into the spoilboard, later those on the dowels.
    pub pair: Option<[usize; 2]>,
    /// The farthest that play lets what is made here be from what the first makes, and what that is, mm.
    pub worst: Option<(usize, f64)>,
}

/// Why there are not fewer set-ups.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Fewest {
    /// There is only one.
    One,
    /// No two of these ever come within reach together.
    Apart(Vec<usize>),
    /// No set-up reaches more than so many.
    Crowded(usize),
    /// Not proven: this many are needed at the least.
    Found(usize),
}

#[derive(Debug, Clone, PartialEq)]
pub(super) enum NoWay {
    /// However the sheet lies, it goes over the bed by more than it may.
    TooLarge,
    /// No set-up reaches these.
    OutOfReach(Vec<usize>),
    /// No two holes suit for dowels in every set-up.
    NoDowels,
}

/// So many roots, directions and footings are tried for each number of set-ups; more found nothing better.
const ROOTS: usize = 16;
const FOOTINGS: usize = 6;
const BRANCHES: usize = 4;
const WAYS: usize = 50;
/// Ways of standing looked at for each number of set-ups: the search's patience.
const LOOKS: usize = 8_000_000;
/// So many set-ups over the bound are tried.
const MORE: usize = 6;
/// From a tool to a dowel, at the least.
const BESIDE_DOWEL: Um = 1000;

/// Divides a sheet that may be turned over as well: it is, where that saves a set-up.
pub(super) fn divide_either_way(reach: Reach, located: Located) -> Result<Division, NoWay> {
    let level = divide(&reach, located);
    if reach.is_even() {
        return level;
    }
    let either = Reach { turns: &Turn::EITHER, ..reach };
    // Holes that never come together however the board is turned prove the number found.
    let least = apart(&either);
    match level {
        Ok(level) if level.setups.len() == 1 => Ok(level),
        Ok(level) if level.setups.len() <= least.len() => {
            Ok(Division { fewest: Fewest::Apart(least), ..level })
        }
        Ok(level) => match divide(&either, located) {
            Ok(over) if over.setups.len() < level.setups.len() => Ok(over),
            Ok(over) if over.setups.len() == level.setups.len() => {
                Ok(Division { fewest: over.fewest, ..level })
            }
            _ => Ok(Division { fewest: Fewest::Found(least.len()), ..level }),
        },
        Err(no) => divide(&either, located).map_err(|_| no),
    }
}

pub(super) fn divide(reach: &Reach, located: Located) -> Result<Division, NoWay> {
    let n = reach.wanted;
    let everything = reach.all_wanted();
    let of_wanted = |way: &Placed| way.reached.and(&everything).count();
    let plain = Lay::plain(reach.sheet);
    if reach.may_lie(&plain) && everything.without(&reach.reached(&plain)).is_empty() {
        return Ok(whole(reach, plain));
    }
    let ways = reach.ways();
    let none = Set::none(reach.places.len());
    let reachable = ways.iter().fold(none, |all, way| all.or(&way.reached));
    if ways.is_empty() && !reach.has_room() {
        return Err(NoWay::TooLarge);
    }
    let unreached = everything.without(&reachable);
    if !unreached.is_empty() {
        return Err(NoWay::OutOfReach(unreached.members().collect()));
    }
    let in_one = ways.iter().filter(|way| of_wanted(way) == n);
    if let Some(way) = in_one.min_by_key(|way| way.trouble) {
        return Ok(whole(reach, way.lay));
    }
    let most = ways.iter().map(of_wanted).max().expect("there are ways");
    let apart = apart(reach);
    // Two holes of a later set-up are on the dowels and drilled already, unless dowels have holes of their own.
    let on_dowels = match located {
        Located::ByHand => 0,
        Located::OnDowels { .. } if reach.for_dowels.start > 0 => 0,
        Located::OnDowels { .. } => 2,
    };
    if most <= on_dowels {
        return Err(NoWay::NoDowels);
    }
    // most + (k - 1)·(most - 2) ≥ n
    let crowded = 1 + (n - most).div_ceil(most - on_dowels);
    let least = apart.len().max(crowded).max(2);
    for count in least..=least + MORE {
        let patience = Cell::new(LOOKS / (4 * n));
        let search =
            Search { reach, ways: &ways, located, most, patience, seen: RefCell::default() };
        let Some(setups) = search.with(count) else { continue };
        let fewest = match setups.len() {
            k if k == apart.len() => Fewest::Apart(apart),
            k if k == crowded => Fewest::Crowded(most),
            _ => Fewest::Found(least),
        };
        return Ok(Division { setups, fewest });
    }
    Err(NoWay::NoDowels)
}

fn whole(reach: &Reach, lay: Lay) -> Division {
    let made = (0..reach.wanted).collect();
    let laid = Laid { lay, made, reached: reach.reached(&lay), pair: None, worst: None };
    Division { setups: vec![laid], fewest: Fewest::One }
}

/// Many holes of which no two can be reached together, gathered from each corner of the sheet.
fn apart(reach: &Reach) -> Vec<usize> {
    let mut best: Vec<usize> = Vec::new();
    for (first, signs) in
        (0..2).flat_map(|first| [[1, 1], [1, -1], [-1, 1], [-1, -1]].map(|signs| (first, signs)))
    {
        let mut order: Vec<usize> = (0..reach.wanted).collect();
        order.sort_by_key(|&i| {
            let place = reach.places[i].middle();
            let along = [place[first] * signs[0], place[1 - first] * signs[1]];
            (along, i)
        });
        let mut chosen: Vec<usize> = Vec::new();
        for i in order {
            if chosen.iter().all(|&other| !reach.together(i, other)) {
                chosen.push(i);
            }
        }
        if chosen.len() > best.len() {
            best = chosen;
        }
    }
    best.sort_unstable();
    best
}

struct Search<'a> {
    reach: &'a Reach,
    ways: &'a [Placed],
    located: Located,
    /// The most holes that one set-up reaches.
    most: usize,
    patience: Cell<usize>,
    seen: RefCell<BTreeMap<(Turn, [Um; 2]), Set>>,
}

/// A way of standing on the dowels.
struct Stand {
    lay: Lay,
    reached: Set,
    pair: [usize; 2],
}

impl Search<'_> {
    /// The plainest and most exact division into `count` set-ups that is found.
    fn with(&self, count: usize) -> Option<Vec<Laid>> {
        let Located::OnDowels { apart, thick, each } = self.located else {
            return self.by_hand(count);
        };
        let mut best: Option<(Rank, Vec<Laid>)> = None;
        let mut stands = BTreeMap::new();
        for root in self.roots() {
            for ([a, b], along) in self.footings(root, apart) {
                let dowels = [a, b].map(|hole| root.lay.place(self.reach.places[hole].middle()));
                let stands: &Vec<Stand> =
                    stands.entry((dowels[0], along)).or_insert_with(|| self.stands(dowels, thick));
                for first in [First::Fullest, First::Surest] {
                    let mut chain = Chain::new(self, root, stands, each, first);
                    if !chain.grow(count - 1) {
                        break;
                    }
                    let laid = chain.laid(root, [a, b]);
                    let rank = rank(&laid, root.trouble);
                    if best.as_ref().is_none_or(|(old, _)| rank < *old) {
                        best = Some((rank, laid));
                    }
                }
            }
        }
        best.map(|(_, laid)| laid)
    }

    fn is_out_of_patience(&self) -> bool {
        let left = self.patience.get();
        self.patience.set(left.saturating_sub(1));
        left == 0
    }

    /// First set-ups worth trying: those that reach the hole nearest the lower left corner, since some
    /// set-up must; the fullest and the plainest of them.
    fn roots(&self) -> Vec<&Placed> {
        let corner = (0..self.reach.wanted)
            .min_by_key(|&i| {
                let [x, y] = self.reach.places[i].middle();
                (x + y, i)
            })
            .expect("a sheet has holes");
        let mut roots: Vec<&Placed> =
            self.ways.iter().filter(|way| way.reached.has(corner)).collect();
        let wanted = self.reach.all_wanted();
        let count = |way: &Placed| std::cmp::Reverse(way.reached.and(&wanted).count());
        roots.sort_by_key(|way| (count(way), way.trouble));
        let mut plain = roots.clone();
        plain.sort_by_key(|way| (way.trouble, count(way)));
        roots.truncate(ROOTS);
        roots.extend(plain.into_iter().take(ROOTS));
        roots
    }

    /// Pairs of holes of the first set-up to put dowels into, as seen along different ways: for each way
    /// the few that are nearest the corner from which the sheet is pushed on.
    fn footings(&self, root: &Placed, apart: Um) -> Vec<([usize; 2], [Um; 2])> {
        let may = &self.reach.for_dowels;
        let members: Vec<usize> = root.reached.members().filter(|i| may.contains(i)).collect();
        let mut by_way: BTreeMap<[Um; 2], Vec<[usize; 2]>> = BTreeMap::new();
        for (k, &a) in members.iter().enumerate() {
            for &b in &members[k + 1..] {
                let [from, to] =
                    [a, b].map(|hole| root.lay.place(self.reach.places[hole].middle()));
                let along = [to[0] - from[0], to[1] - from[1]];
                if along[0] * along[0] + along[1] * along[1] >= apart * apart {
                    by_way.entry(along).or_default().push([a, b]);
                }
            }
        }
        let mut ways: Vec<([Um; 2], Vec<[usize; 2]>)> = by_way.into_iter().collect();
        // Long footings are exact; those that occur often leave more freedom.
        ways.sort_by_key(|(along, pairs)| {
            let square = along[0] * along[0] + along[1] * along[1];
            (std::cmp::Reverse(pairs.len().min(8)), std::cmp::Reverse(square))
        });
        let near = |[a, _]: &[usize; 2]| {
            let [x, y] = root.lay.place(self.reach.places[*a].middle());
            (x + y, *a)
        };
        let mut footings = Vec::new();
        for (along, mut pairs) in ways.into_iter().take(WAYS) {
            pairs.sort_by_key(near);
            // A sheet that is turned over or end for end goes on from the middle rather than from the corner.
            let rest = pairs.split_off(pairs.len().min(FOOTINGS));
            let from_far = rest.into_iter().rev().take(FOOTINGS);
            footings.extend(pairs.into_iter().chain(from_far).map(|pair| (pair, along)));
        }
        footings
    }

    /// Every way in which two holes of the sheet stand on these dowels.
    fn stands(&self, dowels: [[Um; 2]; 2], thick: Um) -> Vec<Stand> {
        let places = &self.reach.places;
        let mut stands = Vec::new();
        for &turn in self.reach.turns {
            let flat = Lay { turn, corner: [0, 0], sheet: self.reach.sheet };
            let by_place: BTreeMap<[Um; 2], usize> = self
                .reach
                .for_dowels
                .clone()
                .map(|i| (flat.place(places[i].middle()), i))
                .collect();
            for (place, &a) in &by_place {
                let other = [0, 1].map(|axis| place[axis] + dowels[1][axis] - dowels[0][axis]);
                // Whole micrometres: neighbours of a lattice differ by one where they were rounded.
                let Some(b) = near(&by_place, other) else { continue };
                let corner = [0, 1].map(|axis| dowels[0][axis] - place[axis]);
                let lay = Lay { corner, ..flat };
                if !self.reach.may_lie(&lay) {
                    continue;
                }
                let mut seen = self.seen.borrow_mut();
                let reached =
                    seen.entry((turn, corner)).or_insert_with(|| self.reach.reached(&lay));
                let mut beside = Set::none(places.len());
                for i in reached.members() {
                    let [low, high] = places[i].lying(&lay);
                    let clear = (places[i].wide + thick) / 2 + BESIDE_DOWEL;
                    let near = |dowel: &[Um; 2]| {
                        let [x, y] = [0, 1].map(|axis| {
                            (low[axis] - dowel[axis]).max(dowel[axis] - high[axis]).max(0)
                        });
                        x * x + y * y < clear * clear
                    };
                    if dowels.iter().any(near) {
                        beside.put(i);
                    }
                }
                let reached = reached.without(&beside);
                stands.push(Stand { lay, reached, pair: [a, b] });
            }
        }
        stands
    }

    /// Foam: sets that cover everything, the corner that is hardest to reach first.
    fn by_hand(&self, count: usize) -> Option<Vec<Laid>> {
        let mut chosen = Vec::new();
        let mut rest = self.reach.all_wanted();
        if !self.cover(&rest, count, &mut chosen) {
            return None;
        }
        let laid = chosen.into_iter().map(|way: &Placed| {
            let made = way.reached.and(&rest);
            rest = rest.without(&made);
            Laid {
                lay: way.lay,
                made: made.members().collect(),
                reached: way.reached.clone(),
                pair: None,
                worst: None,
            }
        });
        Some(laid.collect())
    }

    fn cover<'s>(&'s self, rest: &Set, left: usize, chosen: &mut Vec<&'s Placed>) -> bool {
        if rest.is_empty() {
            return true;
        }
        if rest.count() > left * self.most || self.is_out_of_patience() {
            return false;
        }
        let corner =
            rest.members().min_by_key(|&i| (self.reach.places[i].middle(), i)).expect("not empty");
        let mut ways: Vec<(usize, &Placed)> = self
            .ways
            .iter()
            .filter(|way| way.reached.has(corner))
            .map(|way| (way.reached.and(rest).count(), way))
            .collect();
        ways.sort_by_key(|(new, way)| (std::cmp::Reverse(*new), way.trouble));
        for (_, way) in ways.into_iter().take(BRANCHES) {
            chosen.push(way);
            if self.cover(&rest.without(&way.reached), left - 1, chosen) {
                return true;
            }
            chosen.pop();
        }
        false
    }
}

/// What stands within a micrometre of a place along each axis.
fn near(by_place: &BTreeMap<[Um; 2], usize>, at: [Um; 2]) -> Option<usize> {
    by_place
        .range([at[0] - 1, Um::MIN]..=[at[0] + 1, Um::MAX])
        .find(|(place, _)| (place[1] - at[1]).abs() <= 1)
        .map(|(_, &i)| i)
}

/// Which way of standing is tried first.
#[derive(Clone, Copy, PartialEq, Eq)]
enum First {
    /// The one that reaches most new holes.
    Fullest,
    /// The one whose holes are least off, if enough could still be reached.
    Surest,
}

/// Set-ups that stand on each other, while they are chosen.
struct Chain<'a> {
    search: &'a Search<'a>,
    stands: &'a [Stand],
    each: f64,
    first: First,
    /// Which set-up makes each hole; none for those still to make.
    made_in: Vec<Option<usize>>,
    rest: Set,
    chosen: Vec<&'a Stand>,
    /// The way back to the first set-up: footings of each set-up and those that it stands on.
    footings: Vec<Vec<Footing>>,
}

impl<'a> Chain<'a> {
    fn new(
        search: &'a Search<'a>,
        root: &Placed,
        stands: &'a [Stand],
        each: f64,
        first: First,
    ) -> Self {
        let n = search.reach.places.len();
        let mut made_in = vec![None; n];
        root.reached.members().for_each(|i| made_in[i] = Some(0));
        Chain {
            search,
            stands,
            each,
            first,
            made_in,
            rest: search.reach.all_wanted().without(&root.reached),
            chosen: Vec::new(),
            footings: vec![Vec::new()],
        }
    }

    /// Reaches the rest in `left` more set-ups, if it can.
    fn grow(&mut self, left: usize) -> bool {
        if self.rest.is_empty() {
            return true;
        }
        if self.rest.count() > left * self.search.most || self.search.is_out_of_patience() {
            return false;
        }
        let mut next: Vec<(usize, f64, &'a Stand)> = Vec::new();
        for stand in self.stands {
            let new = stand.reached.and(&self.rest).count();
            // What would be left must still fit the set-ups that would be left.
            if new == 0 || self.rest.count() - new > (left - 1) * self.search.most {
                continue;
            }
            let Some(on) = self.stands_on(stand) else { continue };
            next.push((new, self.worst_of(stand, on), stand));
        }
        next.sort_by(|(new_a, off_a, a), (new_b, off_b, b)| {
            let turn = a.lay.turn.cmp(&b.lay.turn);
            match self.first {
                First::Fullest => new_b.cmp(new_a).then(turn).then(off_a.total_cmp(off_b)),
                First::Surest => turn.then(off_a.total_cmp(off_b)).then(new_b.cmp(new_a)),
            }
        });
        for (_, _, stand) in next.into_iter().take(BRANCHES) {
            let before = (self.made_in.clone(), self.rest.clone());
            let on = self.stands_on(stand).expect("it was there before");
            let mut footings = self.footings[on].clone();
            footings.push(self.footing(stand));
            self.footings.push(footings);
            self.chosen.push(stand);
            let number = self.chosen.len();
            for i in stand.reached.members() {
                // Those for dowels as well, if there are any.
                self.made_in[i].get_or_insert(number);
            }
            self.rest = self.rest.without(&stand.reached);
            if self.grow(left - 1) {
                return true;
            }
            (self.made_in, self.rest) = before;
            self.chosen.pop();
            self.footings.pop();
        }
        false
    }

    /// The one earlier set-up that drilled both holes which would be on the dowels.
    fn stands_on(&self, stand: &Stand) -> Option<usize> {
        let [a, b] = stand.pair.map(|hole| self.made_in[hole]);
        a.filter(|_| a == b)
    }

    fn footing(&self, stand: &Stand) -> Footing {
        let middle = |hole: usize| self.search.reach.places[hole].middle();
        Footing { holes: stand.pair.map(middle), each: self.each }
    }

    /// The farthest off that a hole made new by this stand could be.
    fn worst_of(&self, stand: &Stand, on: usize) -> f64 {
        let footing = self.footing(stand);
        stand
            .reached
            .and(&self.rest)
            .members()
            .map(|i| self.off(i, on, Some(footing)))
            .fold(0.0, f64::max)
    }

    /// The farthest off that something could be if it were made in this set-up, or in one more that stands on it: all
    /// plays on the way add up. Each is greatest at a corner of a box, being the length of what is linear in the place.
    fn off(&self, i: usize, setup: usize, more: Option<Footing>) -> f64 {
        let place = &self.search.reach.places[i];
        let footings = || self.footings[setup].iter().copied().chain(more);
        let at = |corner: [Um; 2]| footings().map(|footing| footing.worst(corner)).sum();
        place.corners().map(at).into_iter().fold(0.0, f64::max)
    }

    fn laid(&self, root: &Placed, pair: [usize; 2]) -> Vec<Laid> {
        // Of the holes for dowels only those that a dowel stands in.
        let stood_on =
            |i: usize| pair.contains(&i) || self.chosen.iter().any(|stand| stand.pair.contains(&i));
        let made = |number: usize| -> Vec<usize> {
            let made = (0..self.made_in.len()).filter(|&i| self.made_in[i] == Some(number));
            made.filter(|&i| i < self.search.reach.wanted || stood_on(i)).collect()
        };
        let mut laid = vec![Laid {
            lay: root.lay,
            made: made(0),
            reached: root.reached.clone(),
            pair: Some(pair),
            worst: None,
        }];
        for (k, stand) in self.chosen.iter().enumerate() {
            let made = made(k + 1);
            let worst = made
                .iter()
                .map(|&i| (i, self.off(i, k + 1, None)))
                .max_by(|(_, a), (_, b)| a.total_cmp(b));
            let reached = stand.reached.clone();
            laid.push(Laid { lay: stand.lay, made, reached, pair: Some(stand.pair), worst });
        }
        laid
    }
}

/// Turns (turning over counts twice), then the first set-up's sides that lie at no edge, then the worst hole in thousandths.
type Rank = (usize, usize, i64);

fn rank(laid: &[Laid], (_, off, ..): Trouble) -> Rank {
    let turns = laid.iter().map(|l| l.lay.turn);
    let turned = turns.map(|t| usize::from(t != Turn::Not) + usize::from(t.is_over())).sum();
    let worst = laid.iter().filter_map(|l| l.worst).map(|(_, off)| off).fold(0.0, f64::max);
    (turned, off, (worst * 1000.0).round() as i64)
}
