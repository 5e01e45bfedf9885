//! Tours of places in rows in two strands: up through one part of every row, and down through the
//! other.
//!
//! Where each row is parted, and at which end of each part the tour goes on to the next row, is
//! chosen for all rows together (dynamic programming, Bellman 1957, from memory), so that of all such
//! tours the shortest is found. Where it is dear to change rows, every other tour is longer.

use super::net::Net;

/// More pairs of places in neighbouring rows than so many are not looked at.
const MOST_PAIRS: usize = 1 << 18;

/// Places at one Y, or at one X, along the row.
type Row = Vec<u32>;

/// How a tour goes through a row. Two strands of it go up, a first and a second.
#[derive(Clone, Copy)]
enum Way {
    /// The second strand goes through the places from `at` on, the first through those before.
    /// Each leaves its part at the parting if it goes `inward`, or at the row's end.
    Parted { at: usize, inward: [bool; 2] },
    /// One strand goes through the whole row, and leaves it at its beginning if it goes `back`; the
    /// other, the first or the second (0 or 1), is `waiting` at the lowest place.
    Whole { waiting: usize, back: bool },
}

/// What the best tour costs that comes up to a row and through it in some way.
#[derive(Clone, Copy)]
struct Step {
    cost: i64,
    /// Its way through the row below, by number.
    from: usize,
    /// Whether its first strand below is the second from here on.
    crossed: bool,
}

/// No tour goes that way.
const NONE: Step = Step { cost: i64::MAX, from: 0, crossed: false };

/// The shortest tour of the kind along some rows.
pub(super) struct Strands {
    /// The lowest first; none but the outermost has a single place.
    rows: Vec<Row>,
    pub tour: Vec<u32>,
}

/// Along rows and along columns, upwards from either of the outermost, where places stand so.
pub(super) fn strands(net: &Net) -> Vec<Strands> {
    let mut all = Vec::new();
    for axis in [1, 0] {
        let mut rows = rows(net, axis);
        let pairs: usize = rows.windows(2).map(|w| w[0].len() * w[1].len()).sum();
        let [_, inner @ .., _] = &rows[..] else { continue };
        if pairs > MOST_PAIRS || inner.iter().any(|row| row.len() == 1) {
            continue;
        }
        for _ in 0..2 {
            all.extend(Strands::new(net, rows.clone()));
            rows.reverse();
        }
    }
    all
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

impl Strands {
    fn new(net: &Net, rows: Vec<Row>) -> Option<Strands> {
        let [lowest, inner @ .., top] = &rows[..] else { return None };
        // The lowest row and the top one are gone through from end to end: of them the strands see
        // the ends only.
        let ends = |row: &Row| vec![row[0], row[row.len() - 1]];
        let (lowest_ends, top_ends) = (ends(lowest), ends(top));
        let seen: Vec<&Row> =
            std::iter::once(&lowest_ends).chain(inner).chain([&top_ends]).collect();
        let alone = (lowest.len() == 1).then_some(lowest[0]);
        // None has left the lowest yet, so none is waiting there.
        let begun = |number| match Way::of(number) {
            Way::Parted { .. } => Step { cost: 0, ..NONE },
            Way::Whole { .. } => NONE,
        };
        let mut steps: Vec<Vec<Step>> = vec![(0..Way::count(2)).map(begun).collect()];
        for pair in seen.windows(2) {
            let reached = &steps[steps.len() - 1];
            steps.push(step(net, alone, pair[0], reached, pair[1]));
        }

        // The top is entered at its ends, and then it is gone through.
        let mut way = Way::Parted { at: 1, inward: [true; 2] }.number();
        let mut taken = Vec::with_capacity(seen.len());
        for step in steps.iter().skip(1).rev() {
            taken.push((Way::of(way), step[way].crossed));
            way = step[way].from;
        }
        // The second strand begins with the lowest row, from its first place to its last.
        let mut strands = [Vec::new(), lowest.clone()];
        for (row, (way, crossed)) in rows[1..].iter().zip(taken.into_iter().rev()) {
            if crossed {
                strands.swap(0, 1);
            }
            if std::ptr::eq(row, top) {
                strands[0].extend(top);
            } else {
                way.climb(row, &mut strands);
            }
        }
        let [mut tour, down] = strands;
        tour.extend(down.iter().rev());
        Some(Strands { rows, tour })
    }

    /// A bound on all tours, if this one is the shortest of its kind.
    ///
    /// Every place has a price, the same along a row, and so has every gap between rows. No step is
    /// worth less than the prices of its ends and of the gaps that it crosses, and every gap is
    /// crossed twice at least. A tour that crosses none more often, skips no place along a row, and
    /// skips no row except from a single place that is lowest, goes through every row in one piece
    /// or in two, and is of the kind. Any other costs more than all prices by the least that a
    /// further crossing, or such a step, is worth. `None` where a step is worth less than its prices.
    pub fn bound(&self, net: &Net) -> Option<i64> {
        let length = net.length(&self.tour);
        let (single, top) = (self.rows[0].len() == 1, self.rows.len() - 1);
        // All but lengths and the sum of prices is doubled, so that prices are whole numbers.
        let steps = |row: &Row| row.windows(2).map(|w| net.cost(w[0], w[1])).min();
        let place: Vec<i64> = self.rows.iter().map(|row| steps(row).unwrap_or(0)).collect();
        // Of all gaps below a row.
        let mut height = vec![0];
        let mut spare = 2 * length;
        for (r, pair) in self.rows.windows(2).enumerate() {
            let across = pair[0].iter().flat_map(|&a| pair[1].iter().map(move |&b| net.cost(a, b)));
            let gap = 2 * across.min()? - place[r] - place[r + 1];
            height.push(height[r] + gap);
            // The two steps of a single place cross no gap beside it more often.
            if !(single && r == 0 || self.rows[top].len() == 1 && r + 1 == top) {
                spare = spare.min(2 * gap);
            }
        }
        // Each of the two steps of the single place may cost so much less than its prices.
        let mut less = 0;
        for (low, row) in self.rows.iter().enumerate() {
            for (i, &a) in row.iter().enumerate() {
                let along = row.iter().skip(i + 2).map(|b| (low, b));
                let higher = (low + 2..=top).flat_map(|r| self.rows[r].iter().map(move |b| (r, b)));
                for (high, &b) in along.chain(higher) {
                    let prices = place[low] + place[high] + height[high] - height[low];
                    let rest = 2 * net.cost(a, b) - prices;
                    if single && low == 0 {
                        less = less.min(rest);
                    } else {
                        spare = spare.min(rest);
                    }
                }
            }
            if spare < 0 {
                return None;
            }
        }
        let places: i64 = self.rows.iter().zip(&place).map(|(row, p)| row.len() as i64 * p).sum();
        let any_other = 2 * (places + height[top] + less) + spare;
        Some(length.min((any_other + 1) / 2))
    }
}

/// The steps to all ways through `row` from those `reached` through the row `below`; a strand may
/// still be at the place that is `alone` in the lowest row.
fn step(net: &Net, alone: Option<u32>, below: &Row, reached: &[Step], row: &Row) -> Vec<Step> {
    // From every place of the one row, then from where a strand waits, to every place of the other,
    // then to waiting on.
    let wide = row.len() + 1;
    let to = |a: u32| row.iter().map(move |&b| net.cost(a, b)).chain([0]);
    let legs: Vec<i64> = below.iter().copied().chain(alone).flat_map(to).collect();
    let lowest = alone == Some(below[0]);
    let reached: Vec<(i64, usize, [usize; 2])> = (0..reached.len())
        .filter(|&from| reached[from].cost < i64::MAX)
        .map(|from| {
            (reached[from].cost, from, Way::of(from).exits(below.len()).map(|at| at * wide))
        })
        .collect();
    let whole: i64 = row.windows(2).map(|w| net.cost(w[0], w[1])).sum();
    let mut next = vec![NONE; Way::count(row.len())];
    for (number, next) in next.iter_mut().enumerate() {
        let way = Way::of(number);
        let [first, second] = way.turned().exits(row.len());
        let (own, may_cross) = match way {
            Way::Parted { at, .. } => (whole - net.cost(row[at - 1], row[at]), true),
            Way::Whole { .. } => (whole, false),
        };
        for &(cost, from, exits) in &reached {
            let straight = legs[exits[0] + first] + legs[exits[1] + second];
            let crossing = legs[exits[0] + second] + legs[exits[1] + first];
            let crossed = may_cross && crossing < straight;
            let cost = cost + own + if crossed { crossing } else { straight };
            if cost < next.cost && (lowest || way.follows(Way::of(from))) {
                *next = Step { cost, from, crossed };
            }
        }
    }
    next
}

impl Way {
    /// How many there are through a row of so many places.
    fn count(places: usize) -> usize {
        4 * places
    }

    /// The four ways of every parting follow each other; before them stand those of none.
    fn of(number: usize) -> Way {
        let (one, other) = (number & 1 > 0, number & 2 > 0);
        match number / 4 {
            0 => Way::Whole { waiting: usize::from(one), back: other },
            at => Way::Parted { at, inward: [one, other] },
        }
    }

    fn number(self) -> usize {
        match self {
            Way::Whole { waiting, back } => waiting + 2 * usize::from(back),
            Way::Parted { at, inward: [first, second] } => {
                4 * at + usize::from(first) + 2 * usize::from(second)
            }
        }
    }

    /// The same places the other way along.
    fn turned(self) -> Way {
        match self {
            Way::Parted { at, inward } => Way::Parted { at, inward: inward.map(|i| !i) },
            Way::Whole { waiting, back } => Way::Whole { waiting, back: !back },
        }
    }

    /// Where each strand leaves a row of so many places, by position; one that is waiting, after them
    /// all.
    fn exits(self, places: usize) -> [usize; 2] {
        match self {
            Way::Parted { at, inward: [first, second] } => {
                [if first { at - 1 } else { 0 }, if second { at } else { places - 1 }]
            }
            Way::Whole { waiting, back } => {
                let mut exits = [if back { 0 } else { places - 1 }; 2];
                exits[waiting] = places;
                exits
            }
        }
    }

    /// Whether a strand that waits has waited in the row below.
    fn follows(self, below: Way) -> bool {
        match (self, below) {
            (Way::Parted { .. }, _) => true,
            (Way::Whole { waiting, .. }, Way::Whole { waiting: before, .. }) => waiting == before,
            (Way::Whole { .. }, Way::Parted { .. }) => false,
        }
    }

    /// Takes both strands up through a row.
    fn climb(self, row: &Row, strands: &mut [Vec<u32>; 2]) {
        let (at, forwards) = match self {
            Way::Parted { at, inward: [first, second] } => (at, [first, !second]),
            Way::Whole { waiting, back } => (if waiting == 0 { 0 } else { row.len() }, [!back; 2]),
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

    fn net(places: Vec<[f64; 2]>, cost: Cost) -> Net {
        let mut net = Net::new(&places, &cost).expect("places that can be ordered");
        net.xy = places;
        net
    }

    /// Rows at random: a few places each, at one pitch, shifted a little or far, and perhaps a
    /// place apart.
    fn rows_at_random(chance: &mut Chance) -> Vec<[f64; 2]> {
        let mut places = Vec::new();
        if chance.below(3) > 0 {
            let x = chance.below(9) as f64 * 50.0 - 100.0;
            places.push([x, -10.0 - chance.below(4) as f64 * 40.0]);
        }
        let far = [2, 2, 8, 40][chance.below(4)];
        for r in 0..2 + chance.below(3) {
            let shift = 50.0 * chance.below(far) as f64;
            let row = 0..2 + chance.below(2);
            places.extend(row.map(|c| [shift + 100.0 * c as f64, 80.0 * r as f64]));
        }
        places
    }

    fn shortest(net: &Net) -> i64 {
        let mut least = i64::MAX;
        let mut tour: Vec<u32> = (0..net.len() as u32).collect();
        permute(&mut tour, 1, &mut |t| least = least.min(net.length(t)));
        least
    }

    #[test]
    fn no_tour_is_below_the_bound_of_two_strands() {
        let mut chance = Chance(5);
        let (mut some, mut proved, mut waited) = (0, 0, 0);
        for _ in 0..1_000 {
            let places = rows_at_random(&mut chance);
            if places.len() > 8 {
                continue;
            }
            let speed = [600.0, 1500.0, 3000.0, 6000.0][chance.below(4)];
            let time = Cost::Time { rapid: [6000.0, speed], acceleration: [400.0, 400.0] };
            let net = net(places, [Cost::Distance, Cost::Nint, time, time][chance.below(4)]);
            let least = shortest(&net);
            for found in strands(&net) {
                let mut seen = found.tour.clone();
                seen.sort_unstable();
                assert!(seen.iter().copied().eq(0..net.len() as u32), "{:?}", found.tour);
                let Some(bound) = found.bound(&net) else { continue };
                assert!(bound <= least, "{bound} above {least}: {:?}", net.xy);
                some += 1;
                if net.length(&found.tour) == least && bound == least {
                    proved += 1;
                    let alone = found.rows[0][0];
                    let at = found.tour.iter().position(|&a| a == alone).expect("in the tour");
                    let n = found.tour.len();
                    let beside = [found.tour[(at + 1) % n], found.tour[(at + n - 1) % n]];
                    let second = |a: &u32| !found.rows[1].contains(a);
                    waited += usize::from(found.rows[0].len() == 1 && beside.iter().any(second));
                }
            }
        }
        assert!(some > 500 && proved > 300 && waited > 5, "{some}, {proved}, {waited}");
    }

    /// Where cost grows less and less with distance, or is rounded, strands may have to cross.
    #[test]
    fn strands_cross_where_that_is_shorter() {
        let time =
            |acceleration| Cost::Time { rapid: [6e3, 6e3], acceleration: [400.0, acceleration] };
        let cases = [
            (vec![[875.0, 0.0], [1000.0, 0.0], [2312.5, 208.333], [2375.0, 208.333]], Cost::Nint),
            (vec![[30.0, 0.0], [32.25, 0.0], [12.75, 2.3333], [17.25, 2.3333]], time(4e3)),
        ];
        for (places, cost) in cases {
            let net = net(places, cost);
            let least = shortest(&net);
            assert!(strands(&net).iter().any(|s| net.length(&s.tour) == least), "{:?}", net.xy);
        }
    }

    #[test]
    fn rows_that_are_dear_to_change_are_proved() {
        let cost = Cost::Time { rapid: [9000.0, 3000.0], acceleration: [800.0, 250.0] };
        let mut places = vec![[0.0, 0.0]];
        for r in 0..9 {
            let staggered = 100.0 * f64::from(r % 2);
            let row = (0..16 - r % 2).map(|c| 100.0 + 200.0 * f64::from(c) + staggered);
            places.extend(row.map(|x| [x, 100.0 + 150.0 * f64::from(r)]));
        }
        let net = net(places, cost);
        let proved = |s: &Strands| s.bound(&net) == Some(net.length(&s.tour));
        assert!(strands(&net).iter().any(proved));
    }
}
