//! Places and a cost: an order, and a proven lower bound.
//!
//! The room knows no frames, buttons or tools: a place is a pair of millimetres, a cost is what
//! going from one to another takes, and the answer is a sequence of indices. Same input, same
//! answer, on every machine: costs are whole numbers, and effort is counted in tries, not seconds.

mod bound;
mod cuts;
mod exact;
mod flow;
mod greedy;
mod least;
mod loops;
mod matching;
mod near;
mod net;
mod network;
pub mod places;
mod ranked;
mod relaxation;
mod rest;
mod search;
mod solve;
mod spanning;
mod strands;
mod strokes;
mod tour;
mod weave;

use greedy::ROW_BY_ROW;
use near::{Tree, neighbours, spatial_order};
use net::Net;
pub use ranked::{bound_strokes_by_rank, order_strokes_by_rank};
pub use rest::{Rest, order_with_rest};
use solve::{Solution, solve};
pub use strokes::{Direction, Run, Shape, Stroke, StrokeOrder, order_strokes};

/// X and Y in mm.
pub type Place = [f64; 2];

/// Coordinates beyond this (mm: a thousand kilometres) are refused.
const FARTHEST: f64 = 1e9;

/// On more places than this one that stands alone matters little, and to find it takes a while.
const MANY: usize = 50_000;

/// What going from one place to another costs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cost {
    /// Straight distance, mm.
    Distance,
    /// Straight distance rounded to whole mm, halves up: TSPLIB's EUC_2D.
    Nint,
    /// Time of a straight rapid from rest to rest, seconds: along a path of length L the speed is
    /// at most min v_i·L/|d_i| and the acceleration at most min a_i·L/|d_i|.
    Time {
        /// Speed of X and Y, mm/min.
        rapid: [f64; 2],
        /// Acceleration of X and Y, mm/s².
        acceleration: [f64; 2],
    },
}

/// How long to look for a better order, in tries by size of the task, never by a clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effort {
    /// One descent.
    Quick,
    /// Enough for the optimum on most panels, in hundredths of a second; to prove it may take
    /// some seconds where it is not plain.
    Normal,
    /// About four times as long.
    Thorough,
}

/// Where an order begins and ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ends {
    /// From this place and back to it. It is not in the sequence.
    Park(Place),
    /// Back to the first place.
    Closed,
    /// Wherever is best; it need not come back.
    Open,
}

/// An order of places, what it costs, and what any order must cost.
#[derive(Clone, Debug, PartialEq)]
pub struct Order {
    /// Indices of the places, each once.
    pub sequence: Vec<usize>,
    /// Cost of the whole way, in s for [`Cost::Time`], else in mm.
    pub cost: f64,
    /// No order costs less than this, in the same measure; for [`Cost::Nint`], none that visits places at one spot
    /// one after the other.
    pub bound: f64,
    /// Length of the whole way, mm.
    pub travel: f64,
}

impl Order {
    /// How far the cost is above the bound at most, as a share of the bound: 0.01 is one percent.
    pub fn excess(&self) -> f64 {
        excess(self.cost, self.bound)
    }
}

fn excess(cost: f64, bound: f64) -> f64 {
    if cost > bound { (cost - bound) / bound.max(f64::MIN_POSITIVE) } else { 0.0 }
}

/// Why there is no order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unorderable {
    /// A coordinate of this place is not a number, or infinite. The park place counts as one after
    /// the last.
    NotANumber { index: usize },
    /// This place is more than a thousand kilometres from the origin.
    TooFar { index: usize },
    /// Not as many groups as places, or groups on a closed tour, which has no beginning.
    Groups,
    /// A stroke has no points.
    NoPoints { index: usize },
    /// A speed or acceleration is not a positive number that a machine could have.
    NoMotion,
}

impl std::fmt::Display for Unorderable {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        match self {
            Unorderable::NotANumber { index } => {
                write!(f, "place {} has a coordinate that is not a number", index + 1)
            }
            Unorderable::TooFar { index } => {
                write!(f, "place {} is more than a thousand kilometres away", index + 1)
            }
            Unorderable::Groups => {
                write!(f, "groups need one number a place, and a way that begins somewhere")
            }
            Unorderable::NoPoints { index } => write!(f, "stroke {} has no points", index + 1),
            Unorderable::NoMotion => {
                write!(f, "every speed and acceleration must be a number above 0")
            }
        }
    }
}

impl std::error::Error for Unorderable {}

/// Orders `places` so that the way through all of them costs little, and proves how little it can
/// cost. Never worse than row by row. `progress` is told how far it has come, from 0 to 1.
///
/// # Errors
/// A coordinate or a speed that is not usable, by its index.
pub fn order(
    places: &[Place],
    ends: Ends,
    cost: Cost,
    effort: Effort,
    progress: &mut dyn FnMut(f64),
) -> Result<Order, Unorderable> {
    order_in_groups(places, &[], ends, cost, effort, progress)
}

/// Like [`order`], but all places of a lower group come before all of a higher one. `groups` holds
/// the group of every place, or nothing when there are none; their numbers need not be
/// consecutive. The bound holds for orders that keep the groups. An order in groups has a
/// beginning, so [`Ends::Closed`] is refused.
///
/// # Errors
/// As [`order`], and groups that do not fit the places or the ends.
pub fn order_in_groups(
    places: &[Place],
    groups: &[u32],
    ends: Ends,
    cost: Cost,
    effort: Effort,
    progress: &mut dyn FnMut(f64),
) -> Result<Order, Unorderable> {
    let ranks = ranks(groups, places.len(), ends)?;
    let rank = |i: usize| ranks.get(i).copied().unwrap_or(0);
    let mut all = places.to_vec();
    if let Ends::Park(park) = ends {
        all.push(park);
    }
    let mut net = Net::new(&all, &cost)?;

    // Places of one group at one spot are one node: they are worked one after the other, free.
    let mut by_spot: Vec<usize> = (0..places.len()).collect();
    by_spot.sort_unstable_by(|&a, &b| {
        // Adding 0 makes -0 and 0 one.
        let (p, q) = (all[a].map(|c| c + 0.0), all[b].map(|c| c + 0.0));
        let by_place = p[0].total_cmp(&q[0]).then(p[1].total_cmp(&q[1]));
        by_place.then(rank(a).cmp(&rank(b))).then(a.cmp(&b))
    });
    let mut spots: Vec<Place> = Vec::new();
    let mut first: Vec<usize> = Vec::new();
    for (at, &i) in by_spot.iter().enumerate() {
        let same = first.last().is_some_and(|&f| rank(by_spot[f]) == rank(i));
        if !same || spots.last() != Some(&all[i]) {
            spots.push(all[i]);
            first.push(at);
        }
    }
    first.push(by_spot.len());

    let mut ids = spatial_order(&spots);
    let at = |ids: &[u32]| ids.iter().map(|&i| spots[i as usize]).collect::<Vec<Place>>();
    net.xy = at(&ids);
    // The last node is bounded apart from the others; none is better than one that stands apart.
    if ends == Ends::Closed
        && ids.len() <= MANY
        && let Some(alone) = alone(&net)
    {
        let alone = ids.remove(alone);
        ids = spatial_order(&at(&ids)).iter().map(|&i| ids[i as usize]).collect();
        ids.push(alone);
        net.xy = at(&ids);
    }
    match ends {
        Ends::Park(park) => net.xy.push(park),
        Ends::Open => net.xy.push([f64::NAN; 2]),
        Ends::Closed => {}
    }
    let kinds = ranks.iter().max().map_or(1, |&r| r + 1);
    let mut start = ROW_BY_ROW.order(&net.xy[..ids.len()]);
    if kinds > 1 {
        let node_rank: Vec<i64> = ids.iter().map(|&i| rank(by_spot[first[i as usize]])).collect();
        start = group_by_group(&net, &node_rank, ends, cost)?;
        net.set_ranks(&node_rank);
    }
    start.extend(ids.len() as u32..net.len() as u32);
    let steps = (kinds - 1) * net.step;
    let Solution { mut tour, length, bound } = solve(&net, start, None, effort, progress);

    let begin = tour.iter().position(|&a| a as usize + 1 == net.len()).unwrap_or(0);
    tour.rotate_left(begin);
    if kinds > 1 {
        let at = |i: usize| net.rank[tour[i] as usize];
        // The special node is first; the groups then rise or fall.
        if at(1) > at(tour.len() - 1) {
            tour[1..].reverse();
        }
        assert!(
            (2..tour.len()).all(|i| net.rank[tour[i - 1] as usize] <= net.rank[tour[i] as usize]),
            "an order must keep its groups"
        );
    }
    let mut sequence = Vec::with_capacity(places.len());
    for &node in tour.iter().filter(|&&node| (node as usize) < ids.len()) {
        let spot = ids[node as usize] as usize;
        sequence.extend_from_slice(&by_spot[first[spot]..first[spot + 1]]);
    }
    progress(1.0);
    Ok(Order {
        cost: (length - steps) as f64 / net.scale,
        bound: (bound - steps).max(0) as f64 / net.scale,
        travel: travel(sequence.iter().map(|&i| places[i]), ends),
        sequence,
    })
}

/// The place that is half as far again from any other as all the rest are, if there is one.
fn alone(net: &Net) -> Option<usize> {
    let n = net.xy.len();
    let (near, _) = neighbours(net, &Tree::new(&net.xy), n, 1);
    let nearest = |at: usize| near.range(at as u32).map(|e| near.cost[e]).min().unwrap_or(0);
    let mut far: Vec<(i64, usize)> = (0..n).map(|at| (nearest(at), at)).collect();
    far.sort_unstable();
    let [.., next, farthest] = far[..] else { return None };
    (2 * farthest.0 > 3 * next.0).then_some(farthest.1)
}

/// Groups as consecutive ranks from 0.
fn ranks(groups: &[u32], places: usize, ends: Ends) -> Result<Vec<i64>, Unorderable> {
    if groups.is_empty() {
        return Ok(Vec::new());
    }
    if groups.len() != places || ends == Ends::Closed {
        return Err(Unorderable::Groups);
    }
    let mut kinds = groups.to_vec();
    kinds.sort_unstable();
    kinds.dedup();
    Ok(groups.iter().map(|g| kinds.partition_point(|k| k < g) as i64).collect())
}

/// Nodes group by group, each in a good order of its own, begun at the end nearer to the last.
fn group_by_group(
    net: &Net,
    rank: &[i64],
    ends: Ends,
    cost: Cost,
) -> Result<Vec<u32>, Unorderable> {
    let mut nodes: Vec<u32> = (0..rank.len() as u32).collect();
    nodes.sort_by_key(|&a| rank[a as usize]);
    let mut way: Vec<u32> = Vec::new();
    for group in nodes.chunk_by(|&a, &b| rank[a as usize] == rank[b as usize]) {
        let places: Vec<Place> = group.iter().map(|&a| net.xy[a as usize]).collect();
        let own = order(&places, Ends::Open, cost, Effort::Quick, &mut |_| {})?;
        let mut part: Vec<u32> = own.sequence.iter().map(|&i| group[i]).collect();
        let from =
            way.last().copied().or(matches!(ends, Ends::Park(_)).then_some(rank.len() as u32));
        if let (Some(from), [head, .., tail]) = (from, &part[..])
            && net.cost(from, *tail) < net.cost(from, *head)
        {
            part.reverse();
        }
        way.extend(part);
    }
    Ok(way)
}

/// Length of the way through `places`, mm.
fn travel(places: impl Iterator<Item = Place>, ends: Ends) -> f64 {
    let mut way: Vec<Place> = places.collect();
    match ends {
        Ends::Park(park) => {
            way.insert(0, park);
            way.push(park);
        }
        Ends::Closed => way.extend(way.first().copied()),
        Ends::Open => {}
    }
    way.windows(2).map(|w| distance(w[0], w[1])).sum()
}

fn distance(a: Place, b: Place) -> f64 {
    let (dx, dy) = (a[0] - b[0], a[1] - b[1]);
    (dx * dx + dy * dy).sqrt()
}
