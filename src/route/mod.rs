//! Places and a cost: an order, and a proven lower bound.
//!
//! The room knows no frames, buttons or tools: a place is a pair of millimetres, a cost is what
//! going from one to another takes, and the answer is a sequence of indices. Same input, same
//! answer, on every machine: costs are whole numbers, and effort is counted in tries, not seconds.

mod bound;
mod greedy;
mod near;
mod net;
pub mod places;
mod search;
mod solve;
mod spanning;
mod tour;

use greedy::ROW_BY_ROW;
use near::spatial_order;
use net::Net;
use solve::{Solution, solve};

/// X and Y in mm.
pub type Place = [f64; 2];

/// Coordinates beyond this (mm: a thousand kilometres) are refused.
const FARTHEST: f64 = 1e9;

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
    /// Enough for the optimum on most panels, in hundredths of a second.
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
    /// No order costs less than this, in the same measure.
    pub bound: f64,
    /// Length of the whole way, mm.
    pub travel: f64,
}

impl Order {
    /// How far the cost is above the bound at most, as a share of the bound: 0.01 is one percent.
    pub fn excess(&self) -> f64 {
        if self.cost > self.bound {
            (self.cost - self.bound) / self.bound.max(f64::MIN_POSITIVE)
        } else {
            0.0
        }
    }
}

/// Why there is no order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unorderable {
    /// A coordinate of this place is not a number, or infinite. The park place counts as one after
    /// the last.
    NotANumber { index: usize },
    /// This place is more than a thousand kilometres from the origin.
    TooFar { index: usize },
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
            Unorderable::NoMotion => {
                write!(f, "every speed and acceleration must be a number above 0")
            }
        }
    }
}

impl std::error::Error for Unorderable {}

/// Orders `places` so that the way through all of them costs little, and proves how little it can
/// cost. Never worse than row by row. `progress` is told how far it has come, from 0 to 1.
pub fn order(
    places: &[Place],
    ends: Ends,
    cost: Cost,
    effort: Effort,
    progress: &mut dyn FnMut(f64),
) -> Result<Order, Unorderable> {
    let mut all = places.to_vec();
    if let Ends::Park(park) = ends {
        all.push(park);
    }
    let mut net = Net::new(&all, &cost)?;

    // Places at one spot are one node: they are worked one after the other, at no cost.
    let mut by_spot: Vec<usize> = (0..places.len()).collect();
    by_spot.sort_unstable_by(|&a, &b| {
        let (p, q) = (all[a], all[b]);
        // Adding 0 makes -0 and 0 one.
        (p[0] + 0.0)
            .total_cmp(&(q[0] + 0.0))
            .then((p[1] + 0.0).total_cmp(&(q[1] + 0.0)))
            .then(a.cmp(&b))
    });
    let mut spots: Vec<Place> = Vec::new();
    let mut first = Vec::new();
    for (at, &i) in by_spot.iter().enumerate() {
        if spots.last() != Some(&all[i]) {
            spots.push(all[i]);
            first.push(at);
        }
    }
    first.push(by_spot.len());

    let ids = spatial_order(&spots);
    net.xy = ids.iter().map(|&i| spots[i as usize]).collect();
    match ends {
        Ends::Park(park) => net.xy.push(park),
        Ends::Open => net.xy.push([f64::NAN; 2]),
        Ends::Closed => {}
    }
    let mut rows = ROW_BY_ROW.order(&net.xy[..ids.len()]);
    rows.extend(ids.len() as u32..net.len() as u32);
    let Solution { tour, length, bound } = solve(&net, rows, effort, progress);
    let start = tour.iter().position(|&a| a as usize + 1 == net.len()).unwrap_or(0);
    let mut sequence = Vec::with_capacity(places.len());
    for step in 0..tour.len() {
        let node = tour[(start + step) % tour.len()] as usize;
        if node < ids.len() {
            let spot = ids[node] as usize;
            sequence.extend_from_slice(&by_spot[first[spot]..first[spot + 1]]);
        }
    }
    progress(1.0);
    Ok(finish(sequence, &all, ends, &net, length, bound))
}

fn finish(
    sequence: Vec<usize>,
    all: &[Place],
    ends: Ends,
    net: &Net,
    cost: i64,
    bound: i64,
) -> Order {
    let mut way: Vec<Place> = sequence.iter().map(|&i| all[i]).collect();
    match ends {
        Ends::Park(park) => {
            way.insert(0, park);
            way.push(park);
        }
        Ends::Closed => way.extend(way.first().copied()),
        Ends::Open => {}
    }
    let travel = way
        .windows(2)
        .map(|w| {
            let (dx, dy) = (w[1][0] - w[0][0], w[1][1] - w[0][1]);
            (dx * dx + dy * dy).sqrt()
        })
        .sum();
    Order { sequence, cost: cost as f64 / net.scale, bound: bound as f64 / net.scale, travel }
}
