//! Orders of strokes: which next, from which end, and where the pen need not be lifted.
//!
//! A stroke is two nodes and a fixed edge between them; a closed loop is one node, at the point
//! where it is entered. Strokes that share ends form a graph: the pen-up moves must make it even
//! and connected, so the cheapest matching of its odd vertices, with the park place twice, is a
//! bound, and for a connected graph the optimum (Edmonds and Johnson, "Matching, Euler tours and
//! the Chinese postman", 1973, from memory).

use super::loops::{better_entries, first_entries, middles};
use super::matching::{MOST, cheapest};
use super::near::spatial_order;
use super::net::{NONE, Net};
use super::network::{Link, Network};
use super::solve::{Solution, prove, solve};
use super::{Cost, Effort, Ends, Place, Unorderable, distance};

/// Whether a stroke has two ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Drawn from the first point to the last, or from the last to the first.
    Line,
    /// Drawn all round from any of its points back to it.
    Loop,
}

/// A path of the pen.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    /// For a line its ends are what matters; for a loop, the points where it may begin.
    pub points: Vec<Place>,
    pub shape: Shape,
}

/// Which way a stroke is drawn. Loops are always drawn forward.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// As its points are given.
    Forward,
    /// From the last point to the first.
    Backward,
}

/// One stroke in its turn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Run {
    /// Index of the stroke.
    pub stroke: usize,
    pub direction: Direction,
    /// Index of the point where the pen goes down.
    pub entry: usize,
}

/// An order of strokes.
#[derive(Clone, Debug, PartialEq)]
pub struct StrokeOrder {
    /// Every stroke once.
    pub runs: Vec<Run>,
    /// How often the pen goes down: runs that meet end to end are drawn without lifting.
    pub lifts: usize,
    /// What the pen-up moves cost, in s for [`Cost::Time`], else in mm.
    pub cost: f64,
    /// No order costs less than this, in the same measure.
    pub bound: f64,
    /// Length of the pen-up moves, mm.
    pub travel: f64,
}

impl StrokeOrder {
    /// How far the cost is above the bound at most, as a share of the bound.
    pub fn excess(&self) -> f64 {
        super::excess(self.cost, self.bound)
    }
}

/// Where a run begins and ends.
pub(super) fn run_ends(strokes: &[Stroke], run: &Run) -> [Place; 2] {
    let points = &strokes[run.stroke].points;
    let begin = points[run.entry];
    match (strokes[run.stroke].shape, run.direction) {
        (Shape::Loop, _) => [begin, begin],
        (Shape::Line, Direction::Forward) => [begin, points[points.len() - 1]],
        (Shape::Line, Direction::Backward) => [begin, points[0]],
    }
}

/// Ends of strokes up to which they are joined as a network first.
const MOST_TIPS: usize = 2_000;

/// A node of the net: an end of a line, or a loop.
#[derive(Clone, Copy, Debug)]
struct Tip {
    stroke: u32,
    entry: u32,
}

/// Orders `strokes` so that the pen travels little while it is up. `lift` is what lifting the pen
/// and putting it down costs on top of the way, s or mm: each move that is not of length 0 pays
/// it, from and to park as well.
///
/// With up to 400 odd vertices the matching is exact; beyond, the bound is that of Held and Karp
/// with the strokes as fixed edges alone. Loops with several entries weaken the bound by how far
/// their points lie from their middle.
///
/// # Errors
/// A coordinate (by stroke), a stroke without points, or a speed that is not usable.
pub fn order_strokes(
    strokes: &[Stroke],
    ends: Ends,
    cost: Cost,
    lift: f64,
    effort: Effort,
    progress: &mut dyn FnMut(f64),
) -> Result<StrokeOrder, Unorderable> {
    let mut all = Vec::new();
    for (index, stroke) in strokes.iter().enumerate() {
        if stroke.points.is_empty() {
            return Err(Unorderable::NoPoints { index });
        }
        if stroke.points.iter().flatten().any(|c| !c.is_finite()) {
            return Err(Unorderable::NotANumber { index });
        }
        if stroke.points.iter().flatten().any(|c| c.abs() > super::FARTHEST) {
            return Err(Unorderable::TooFar { index });
        }
        all.extend_from_slice(&stroke.points);
    }
    if let Ends::Park(park) = ends {
        all.push(park);
    }
    let mut bare = Net::new(&all, &cost)?;
    if !(0.0..=1e6).contains(&lift) {
        return Err(Unorderable::NoMotion);
    }
    bare.set_lift(lift);

    let mut entries = first_entries(strokes, ends);
    let several = strokes.iter().any(|s| s.shape == Shape::Loop && s.points.len() > 1);
    let mut best = plan(strokes, &entries, &bare, ends, effort, progress);
    if several {
        for _ in 0..2 {
            better_entries(strokes, &mut best.runs, &bare, ends);
            for run in &best.runs {
                entries[run.stroke] = run.entry;
            }
            let next = plan(strokes, &entries, &bare, ends, effort, progress);
            if next.length >= best.length {
                break;
            }
            best = next;
        }
        better_entries(strokes, &mut best.runs, &bare, ends);
        best.bound = bound_by_middles(strokes, &bare, ends, effort);
    }
    let ways = moves(strokes, &best.runs, ends);
    let length: i64 = ways.iter().map(|w| move_cost(&bare, w[0], w[1])).sum();
    let count = best.runs.len();
    progress(1.0);
    Ok(StrokeOrder {
        lifts: lifts(&ways, ends, count),
        cost: length as f64 / bare.scale,
        bound: best.bound.min(length) as f64 / bare.scale,
        travel: ways.iter().map(|w| distance(w[0], w[1])).sum(),
        runs: best.runs,
    })
}

/// How often the pen goes down for `count` runs with these moves between them.
pub(super) fn lifts(ways: &[[Place; 2]], ends: Ends, count: usize) -> usize {
    let apart = |ways: &[[Place; 2]]| ways.iter().filter(|way| way[0] != way[1]).count();
    match ends {
        Ends::Closed => apart(ways).max(count.min(1)),
        // The ways from and to park lie before the first stroke and after the last.
        Ends::Park(_) => {
            apart(&ways[1.min(ways.len())..ways.len().saturating_sub(1).max(1.min(ways.len()))])
                + count.min(1)
        }
        Ends::Open => apart(ways) + count.min(1),
    }
}

/// The pen-up moves of an order, also those of length 0.
pub(super) fn moves(strokes: &[Stroke], runs: &[Run], ends: Ends) -> Vec<[Place; 2]> {
    let spans: Vec<[Place; 2]> = runs.iter().map(|r| run_ends(strokes, r)).collect();
    let mut ways: Vec<[Place; 2]> = spans.windows(2).map(|w| [w[0][1], w[1][0]]).collect();
    if let (Some(first), Some(last)) = (spans.first(), spans.last()) {
        match ends {
            Ends::Park(park) => {
                ways.insert(0, [park, first[0]]);
                ways.push([last[1], park]);
            }
            Ends::Closed => ways.push([last[1], first[0]]),
            Ends::Open => {}
        }
    }
    ways
}

pub(super) fn move_cost(net: &Net, a: Place, b: Place) -> i64 {
    let plain = net.span((a[0] - b[0]).abs(), (a[1] - b[1]).abs());
    if plain > 0 { plain + net.lift } else { 0 }
}

struct Plan {
    runs: Vec<Run>,
    length: i64,
    bound: i64,
}

/// The net of all strokes with loops entered at `entries`, and which tip each node is.
fn build(strokes: &[Stroke], entries: &[usize], bare: &Net, ends: Ends) -> (Net, Vec<Tip>) {
    let mut tips = Vec::new();
    for (i, stroke) in strokes.iter().enumerate() {
        let last = stroke.points.len() - 1;
        let stroke_tips: &[usize] = match stroke.shape {
            Shape::Line => &[0, last],
            Shape::Loop => &[entries[i]],
        };
        tips.extend(stroke_tips.iter().map(|&e| Tip { stroke: i as u32, entry: e as u32 }));
    }
    let spot = |t: &Tip| strokes[t.stroke as usize].points[t.entry as usize];
    let spots: Vec<Place> = tips.iter().map(spot).collect();
    let order = spatial_order(&spots);
    let tips: Vec<Tip> = order.iter().map(|&i| tips[i as usize]).collect();
    let mut net = bare.clone_bare();
    net.xy = tips.iter().map(spot).collect();
    net.mate = vec![NONE; tips.len()];
    let mut seen = vec![NONE; strokes.len()];
    for (a, tip) in tips.iter().enumerate() {
        let other = &mut seen[tip.stroke as usize];
        if *other == NONE {
            *other = a as u32;
        } else {
            net.mate[a] = *other;
            net.mate[*other as usize] = a as u32;
        }
    }
    match ends {
        Ends::Park(park) => net.xy.push(park),
        Ends::Open => net.xy.push([f64::NAN; 2]),
        Ends::Closed => {}
    }
    net.mate.resize(net.xy.len(), NONE);
    (net, tips)
}

fn plan(
    strokes: &[Stroke],
    entries: &[usize],
    bare: &Net,
    ends: Ends,
    effort: Effort,
    progress: &mut dyn FnMut(f64),
) -> Plan {
    let (net, tips) = build(strokes, entries, bare, ends);
    let drawn = drawn(&net);
    let (start, matched) = by_matching(&net, tips.len());
    let started = net.length(&start) - drawn;
    // A matched graph in one piece is drawn at the cost of its matching: nothing is left to do.
    let (mut tour, length, bound) = if started <= matched {
        (start, started, matched)
    } else {
        let Solution { tour, length, bound } = solve(&net, start, effort, progress);
        (tour, length - drawn, matched.max(bound - drawn))
    };
    if ends != Ends::Closed {
        let special = tour.iter().position(|&a| a as usize == tips.len()).unwrap_or(0);
        tour.rotate_left(special);
        tour.remove(0);
    } else if let [first, .., last] = tour[..]
        && net.mate[first as usize] == last
    {
        tour.rotate_right(1);
    }
    let mut runs = Vec::with_capacity(strokes.len());
    let mut at = 0;
    while at < tour.len() {
        let node = tour[at] as usize;
        let tip = tips[node];
        let direction = if net.mate[node] != NONE && tip.entry > 0 {
            Direction::Backward
        } else {
            Direction::Forward
        };
        // A line of one point has both ends at index 0.
        at += 1 + usize::from(net.mate[node] != NONE);
        runs.push(Run { stroke: tip.stroke as usize, direction, entry: tip.entry as usize });
    }
    Plan { runs, length, bound }
}

/// Every stroke in the order given.
fn one_by_one(net: &Net) -> Vec<u32> {
    let firsts =
        (0..net.len() as u32).filter(|&a| net.mate[a as usize] == NONE || a < net.mate[a as usize]);
    firsts.flat_map(|a| [a, net.mate[a as usize]]).filter(|&a| a != NONE).collect()
}

/// A tour that draws the matched graph piece by piece, and what the matching alone must cost
/// (0 where it is too large to be exact).
fn by_matching(net: &Net, tips: usize) -> (Vec<u32>, i64) {
    // Joining pieces compares all ends with all: past this the search starts better from its own tour.
    if tips > MOST_TIPS {
        return (one_by_one(net), 0);
    }
    let mut network = Network::new(net, tips);
    let mut odd = network.odd();
    let special = network.special;
    if let Some(s) = special {
        odd.extend([s, s]);
    }
    let mut matched = 0;
    if odd.len() <= MOST {
        let there_and_back = special.map_or(0, |s| 2 * network.nearest(s));
        let cost = |i: usize, j: usize| {
            if Some(odd[i]) == special && Some(odd[j]) == special {
                there_and_back
            } else {
                network.cost(odd[i], odd[j])
            }
        };
        let partner = cheapest(odd.len(), cost);
        let pairs: Vec<(usize, usize)> =
            (0..odd.len()).filter(|&i| i < partner[i]).map(|i| (i, partner[i])).collect();
        matched = pairs.iter().map(|&(i, j)| cost(i, j)).sum();
        for (i, j) in pairs {
            if odd[i] != odd[j] {
                network.link(odd[i], odd[j], Link::PenUp);
            }
        }
    } else {
        network.pair_greedily(&odd);
    }
    network.connect();
    (network.circuit(), matched)
}

/// A bound for loops with several entries, by their middles.
fn bound_by_middles(strokes: &[Stroke], bare: &Net, ends: Ends, effort: Effort) -> i64 {
    let (moved, slack) = middles(strokes, bare);
    let (net, _) = build(&moved, &vec![0; strokes.len()], bare, ends);
    (prove(&net, effort) - drawn(&net) - slack).max(0)
}

/// What the strokes of a net cost, which every tour of it pays.
fn drawn(net: &Net) -> i64 {
    let mates = net.mate.iter().enumerate();
    mates.filter(|&(a, &b)| b != NONE && (a as u32) < b).map(|(a, &b)| net.cost(a as u32, b)).sum()
}
