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
mod spanning;
mod tour;

use bound::Bound;
use greedy::{greedy, row_by_row};
use near::{Tree, neighbours, spatial_order};
use net::Net;
use search::Search;

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
    let (tour, bound) = solve(&net, effort, progress);
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
    Ok(finish(sequence, &all, ends, &net, net.length(&tour), bound))
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

/// A tour of the whole net and a bound on every tour.
fn solve(net: &Net, effort: Effort, progress: &mut dyn FnMut(f64)) -> (Vec<u32>, i64) {
    let n = net.len();
    if n < 8 {
        let tour = best_of_all(net);
        let length = net.length(&tour);
        return (tour, length);
    }
    let m = n - 1;
    let tree = Tree::new(&net.xy[..m]);
    let clock = std::time::Instant::now();
    let say = |what: &str| {
        if std::env::var("TRACE").is_ok() {
            eprintln!("{:.4} {what}", clock.elapsed().as_secs_f64());
        }
    };
    let (near, reach) = neighbours(net, &tree, m, 8);
    say("near");
    let mut rows = row_by_row(&net.xy[..m]);
    rows.extend(m as u32..n as u32);
    let mut tour = greedy(net, &near);
    if net.length(&rows) < net.length(&tour) {
        tour = rows;
    }
    say(&format!("greedy {}", net.length(&tour)));
    let mut bound = Bound::new(net, &tree, &near, &reach);
    say(&format!("bound {}", bound.value));
    let target = net.length(&tour) / 100 * 90;
    bound.climb(100, target, 1.0);
    bound.prove();
    say(&format!("climb {}", bound.value));
    let lists = bound.nearest_by_alpha(std::env::var("AL").map_or(6, |v| v.parse().unwrap()));
    say("alpha");
    let mut search = Search::new(net, &lists, tour, {
        let mut b = [0; 6];
        for (i, w) in std::env::var("BR").unwrap_or("0,5,3,1,0,0".into()).split(',').enumerate() {
            b[i] = w.parse().unwrap();
        }
        b
    });
    search.descend();
    say(&format!("descend {}", search.length));
    for _ in 0..3 {
        bound.climb(200, search.length, 1.0);
        say(&format!("climb {}", bound.value));
        if !bound.prove() {
            break;
        }
        say(&format!("prove {}", bound.value));
    }
    let kicks = match effort {
        Effort::Quick => 0,
        Effort::Normal => 20 * n as u64,
        Effort::Thorough => 80 * n as u64,
    };
    let warm = std::env::var("WARM").map_or(0.0, |v| v.parse().unwrap());
    let kicks = kicks * std::env::var("KX").map_or(1, |v| v.parse().unwrap());
    search.kick(kicks, bound.proven, warm, progress);
    say(&format!("kick {}", search.length));
    (search.tour.order, bound.proven)
}

/// The best of all tours of fewer than eight nodes.
fn best_of_all(net: &Net) -> Vec<u32> {
    let n = net.len() as u32;
    let mut tour: Vec<u32> = (0..n).collect();
    let mut best = tour.clone();
    permute(&mut tour, 1, &mut |t| {
        if net.length(t) < net.length(&best) {
            best = t.to_vec();
        }
    });
    best
}

fn permute(tour: &mut [u32], from: usize, visit: &mut dyn FnMut(&[u32])) {
    if from + 1 >= tour.len() {
        visit(tour);
        return;
    }
    for i in from..tour.len() {
        tour.swap(from, i);
        permute(tour, from + 1, visit);
        tour.swap(from, i);
    }
}
