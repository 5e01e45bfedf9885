//! Two combs whose teeth meet: tours of places in rows that go up through one part of every row and
//! come down through the other.
//!
//! Where each row is parted, and at which end of each part the tour goes on to the next row, is
//! chosen for all rows together (dynamic programming, Bellman 1957, from memory), so that of all such
//! tours the shortest is found. Where it is dear to change rows, every other tour is longer.

use super::net::Net;

/// More pairs of places in neighbouring rows than so many are not looked at.
const MANY: usize = 1 << 18;

/// Places at one Y, or at one X, along the row.
type Row = Vec<u32>;

/// What a tour costs up to a row, which it goes through in some way, and its way through the row
/// below: both by their number.
type Step = (i64, usize);

/// How a tour goes through a row. Two strands of it go up.
#[derive(Clone, Copy)]
enum Way {
    /// The second strand goes through the places from `at` on, the first through those before.
    /// Each leaves its part at the parting if it goes `inward`, or at the row's end.
    Parted { at: usize, inward: [bool; 2] },
    /// One strand goes through the whole row, and leaves it at its beginning if it goes `back`; the
    /// other, of this number, `waits` at the lowest place.
    Whole { waits: usize, back: bool },
}

/// The shortest tour of the kind along some rows.
pub(super) struct Comb {
    /// The lowest first; none but the outermost has a single place.
    rows: Vec<Row>,
    pub tour: Vec<u32>,
}

/// Along rows and along columns, upwards from either of the outermost, where places stand so.
pub(super) fn combs(net: &Net) -> Vec<Comb> {
    let mut combs = Vec::new();
    for axis in [1, 0] {
        let mut rows = rows(net, axis);
        let pairs: usize = rows.windows(2).map(|w| w[0].len() * w[1].len()).sum();
        let [_, inner @ .., _] = &rows[..] else { continue };
        if pairs > MANY || inner.iter().any(|row| row.len() == 1) {
            continue;
        }
        for _ in 0..2 {
            combs.extend(Comb::new(net, rows.clone()));
            rows.reverse();
        }
    }
    combs
}

fn rows(net: &Net, axis: usize) -> Vec<Row> {
    let at = |a: u32, axis: usize| net.xy[a as usize][axis];
    let mut nodes: Row = (0..net.len() as u32).collect();
    nodes.sort_unstable_by(|&a, &b| {
        let along = at(a, 1 - axis).total_cmp(&at(b, 1 - axis));
        at(a, axis).total_cmp(&at(b, axis)).then(along).then(a.cmp(&b))
    });
    nodes.chunk_by(|&a, &b| at(a, axis) == at(b, axis)).map(Row::from).collect()
}

impl Comb {
    fn new(net: &Net, rows: Vec<Row>) -> Option<Comb> {
        let [lowest, inner @ .., top] = &rows[..] else { return None };
        // The lowest row and the top one are gone through from end to end.
        let ends = |row: &Row| vec![row[0], row[row.len() - 1]];
        let (ends_of_lowest, ends_of_top) = (ends(lowest), ends(top));
        let below: Vec<&Row> = std::iter::once(&ends_of_lowest).chain(inner).collect();
        let waits = (lowest.len() == 1).then_some(lowest[0]);
        // None has gone on from there yet, so none waits.
        let mut steps =
            vec![[(i64::MAX, 0), (0, 0)].iter().flat_map(|s| [*s; 4]).collect::<Vec<_>>()];
        for r in 1..below.len() {
            steps.push(step(net, waits, below[r - 1], &steps[r - 1], below[r]));
        }
        let last = below.len() - 1;
        let closed = |&from: &usize| {
            let exits = Way::of(from).exits(below[last].len());
            let legs = exits
                .iter()
                .zip(&ends_of_top)
                .map(|(&exit, &end)| net.cost(*below[last].get(exit).unwrap_or(&lowest[0]), end));
            steps[last][from].0.saturating_add(legs.sum())
        };
        let mut way = (0..steps[last].len()).min_by_key(closed)?;
        let mut ways = Vec::with_capacity(below.len());
        for step in steps.iter().rev() {
            ways.push(Way::of(way));
            way = step[way].1;
        }
        let mut strands = [Vec::new(), Vec::new()];
        for (row, way) in inner.iter().zip(ways.iter().rev().skip(1)) {
            way.climb(row, &mut strands);
        }
        let [mut tour, down] = strands;
        tour.extend(top);
        tour.extend(down.iter().rev());
        tour.extend(lowest.iter().rev());
        Some(Comb { rows, tour })
    }

    /// A bound on all tours, if this one is the shortest of its kind.
    ///
    /// With a price for every place and every gap between rows, no step is worth less than the prices
    /// of its ends and of the gaps that it crosses, and every gap is crossed twice at least. A tour
    /// that crosses none more often, skips no place along a row and no row, but from a single place
    /// that is lowest, is of the kind; any other costs more than all prices by the least that one of
    /// these is worth. `None` where some step is worth less than its prices.
    pub fn bound(&self, net: &Net) -> Option<i64> {
        // Twice the prices, so that they are whole numbers: of a place of every row, and of the gaps
        // below it.
        let steps = |row: &Row| row.windows(2).map(|w| net.cost(w[0], w[1])).min();
        let place: Vec<i64> = self.rows.iter().map(|row| steps(row).unwrap_or(0)).collect();
        let mut gaps = vec![0];
        let (single, top) = (self.rows[0].len() == 1, self.rows.len() - 1);
        let length = net.length(&self.tour);
        let mut spare = 2 * length;
        for r in 1..=top {
            let pairs =
                self.rows[r - 1].iter().flat_map(|&a| self.rows[r].iter().map(move |&b| (a, b)));
            let least = pairs.map(|(a, b)| net.cost(a, b)).min()?;
            let gap = 2 * least - place[r - 1] - place[r];
            gaps.push(gaps[r - 1] + gap);
            // A single place has no more than two steps.
            if !(single && r == 1 || self.rows[top].len() == 1 && r == top) {
                spare = spare.min(2 * gap);
            }
        }
        let mut early = 0;
        for (low, row) in self.rows.iter().enumerate() {
            for (i, &a) in row.iter().enumerate() {
                let along = row.iter().skip(i + 2).map(|b| (low, b));
                let higher = (low + 2..=top).flat_map(|r| self.rows[r].iter().map(move |b| (r, b)));
                for (high, &b) in along.chain(higher) {
                    let rest =
                        2 * net.cost(a, b) - place[low] - place[high] - (gaps[high] - gaps[low]);
                    if single && low == 0 {
                        early = early.min(rest);
                    } else {
                        spare = spare.min(rest);
                    }
                }
            }
        }
        if spare < 0 {
            return None;
        }
        let prices: i64 = self.rows.iter().zip(&place).map(|(row, p)| row.len() as i64 * p).sum();
        let other = 2 * (prices + gaps[top] + early) + spare;
        Some(length.min((other + 1) / 2))
    }
}

/// The steps to all ways through `row` from those through the row `below`; a strand may still be at
/// the place `waits`, which is alone in the lowest row.
fn step(net: &Net, waits: Option<u32>, below: &Row, steps: &[Step], row: &Row) -> Vec<Step> {
    // From every place of the one row, then from where a strand waits, to every place of the other,
    // then to waiting on.
    let wide = row.len() + 1;
    let to = |a: u32| row.iter().map(move |&b| net.cost(a, b)).chain([0]);
    let legs: Vec<i64> = below.iter().copied().chain(waits).flat_map(to).collect();
    let lowest = waits == Some(below[0]);
    let reached = steps.iter().enumerate().filter(|(_, step)| step.0 < i64::MAX);
    let before: Vec<(i64, usize, [usize; 2])> = reached
        .map(|(way, step)| (step.0, way, Way::of(way).exits(below.len()).map(|at| at * wide)))
        .collect();
    let whole: i64 = row.windows(2).map(|w| net.cost(w[0], w[1])).sum();
    let mut next = vec![(i64::MAX, 0); 4 * row.len()];
    for (number, next) in next.iter_mut().enumerate() {
        let way = Way::of(number);
        let entries = way.turned().exits(row.len());
        for &(cost, from, exits) in &before {
            let cost = cost + legs[exits[0] + entries[0]] + legs[exits[1] + entries[1]];
            if cost < next.0 && (lowest || way.follows(Way::of(from))) {
                *next = (cost, from);
            }
        }
        if next.0 < i64::MAX {
            next.0 += match way {
                Way::Parted { at, .. } => whole - net.cost(row[at - 1], row[at]),
                Way::Whole { .. } => whole,
            };
        }
    }
    next
}

impl Way {
    /// Four of each parting, the first four of none.
    fn of(number: usize) -> Way {
        let (one, other) = (number & 1 > 0, number & 2 > 0);
        match number / 4 {
            0 => Way::Whole { waits: usize::from(one), back: other },
            at => Way::Parted { at, inward: [one, other] },
        }
    }

    /// The same places the other way along.
    fn turned(self) -> Way {
        match self {
            Way::Parted { at, inward } => Way::Parted { at, inward: inward.map(|i| !i) },
            Way::Whole { waits, back } => Way::Whole { waits, back: !back },
        }
    }

    /// Where each strand leaves a row of so many places, by position; one that waits, after them all.
    fn exits(self, places: usize) -> [usize; 2] {
        match self {
            Way::Parted { at, inward: [first, second] } => {
                [if first { at - 1 } else { 0 }, if second { at } else { places - 1 }]
            }
            Way::Whole { waits, back } => {
                let mut exits = [if back { 0 } else { places - 1 }; 2];
                exits[waits] = places;
                exits
            }
        }
    }

    /// Whether a strand that waits has waited in the row below.
    fn follows(self, below: Way) -> bool {
        match (self, below) {
            (Way::Parted { .. }, _) => true,
            (Way::Whole { waits, .. }, Way::Whole { waits: before, .. }) => waits == before,
            (Way::Whole { .. }, Way::Parted { .. }) => false,
        }
    }

    /// Takes both strands up through a row.
    fn climb(self, row: &Row, strands: &mut [Vec<u32>; 2]) {
        let (at, forwards) = match self {
            Way::Parted { at, inward: [first, second] } => (at, [first, !second]),
            Way::Whole { waits, back } => (if waits == 0 { 0 } else { row.len() }, [!back; 2]),
        };
        let parts = <[&[u32]; 2]>::from(row.split_at(at));
        for ((strand, part), forwards) in strands.iter_mut().zip(parts).zip(forwards) {
            if forwards { strand.extend(part) } else { strand.extend(part.iter().rev()) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route::Cost;
    use crate::route::search::Chance;
    use crate::route::solve::permute;

    /// `counts` places in each row, at pitches of 100 by 80, staggered.
    fn net(counts: &[usize], from: usize, park: Option<[f64; 2]>, speed: f64) -> Net {
        let cost = Cost::Time { rapid: [6000.0, speed], acceleration: [400.0, 400.0] };
        let mut places: Vec<[f64; 2]> = park.into_iter().collect();
        for (r, &count) in counts.iter().enumerate() {
            let shift = |c| 100.0 * (from * (r % 3) + c) as f64 + 50.0 * (r % 2) as f64;
            places.extend((0..count).map(|c| [shift(c), 80.0 * r as f64]));
        }
        let mut net = Net::new(&places, &cost).unwrap();
        net.xy = places;
        net
    }

    #[test]
    fn no_tour_is_below_the_bound_of_a_comb() {
        let mut chance = Chance(5);
        let (mut some, mut proved, mut waiting) = (0, 0, 0);
        for _ in 0..400 {
            let rows = 2 + chance.below(3);
            let counts: Vec<usize> = (0..rows).map(|_| 2 + chance.below(2)).collect();
            let park = (chance.below(3) > 0).then(|| {
                [chance.below(9) as f64 * 50.0 - 100.0, -10.0 - chance.below(4) as f64 * 40.0]
            });
            let speed = [600.0, 1500.0, 3000.0, 6000.0][chance.below(4)];
            let net = net(&counts, chance.below(2), park, speed);
            if net.len() > 9 {
                continue;
            }
            let mut least = i64::MAX;
            let mut tour: Vec<u32> = (0..net.len() as u32).collect();
            permute(&mut tour, 1, &mut |t| least = least.min(net.length(t)));
            for comb in combs(&net) {
                let mut seen = comb.tour.clone();
                seen.sort_unstable();
                assert!(seen.iter().copied().eq(0..net.len() as u32), "{:?}", comb.tour);
                let Some(bound) = comb.bound(&net) else { continue };
                assert!(bound <= least, "{bound} above {least}: {:?}", net.xy);
                some += 1;
                if bound == least {
                    proved += 1;
                    let beside = |a: u32| net.xy[a as usize][1];
                    let [low, high] = [comb.rows[0][0], comb.rows[1][0]].map(beside);
                    let n = comb.tour.len();
                    let single = comb.rows[0].len() == 1;
                    let ends = [comb.tour[0], comb.tour[n - 2]];
                    waiting += usize::from(
                        single && low < high && ends.iter().any(|&a| beside(a) != high),
                    );
                }
            }
        }
        println!("{some} {proved} {waiting}");
        assert!(some > 200 && proved > 100 && waiting > 5, "{some}, {proved}, {waiting}");
    }
}
