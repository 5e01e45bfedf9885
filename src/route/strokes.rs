//! Orders of strokes: which next, from which end, and where the pen need not be lifted.
//!
//! A stroke is two nodes and a fixed edge between them; a closed loop is one node, at the point
//! where it is entered. Strokes that share ends form a graph: the pen-up moves must make it even
//! and connected, so the cheapest matching of its odd vertices, with the park place twice, is a
//! bound, and for a connected graph the optimum (Edmonds and Johnson, "Matching, Euler tours and
//! the Chinese postman", 1973, from memory).

use super::loops::first_entries;
use super::near::spatial_order;
use super::net::{NONE, Net};
use super::network::Network;
use super::solve::{Solution, solve};
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
pub(super) const MOST_TIPS: usize = 6_000;

/// A node of the net: an end of a line, or a loop.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tip {
    pub stroke: u32,
    pub entry: u32,
}

/// Orders `strokes` so that the pen travels little while it is up. `lift` is what lifting the pen
/// and putting it down costs on top of the way, s or mm: each move that is not of length 0 pays
/// it, from and to park as well.
///
/// With up to 400 odd vertices the matching is exact; beyond, the bound is that of Held and Karp
/// with the strokes as fixed edges alone.
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
    Ok(Task::new(strokes, None, ends, cost, lift)?.order(effort, progress))
}

/// Strokes to be ordered, and what the moves between them cost.
pub(super) struct Task<'a> {
    pub strokes: &'a [Stroke],
    /// A loop that comes after all others, on the way to park.
    pub last: Option<usize>,
    pub ends: Ends,
    /// The costs, without nodes.
    pub bare: Net,
}

impl<'a> Task<'a> {
    pub fn new(
        strokes: &'a [Stroke],
        last: Option<usize>,
        ends: Ends,
        cost: Cost,
        lift: f64,
    ) -> Result<Self, Unorderable> {
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
        Ok(Task { strokes, last, ends, bare })
    }

    /// An order, and what none can be below. Loops are entered at a good place at first, and at the
    /// best one for the sequence then found; with those entries the order is looked for again.
    pub fn order(&self, effort: Effort, progress: &mut dyn FnMut(f64)) -> StrokeOrder {
        let strokes = self.strokes;
        let mut entries = first_entries(strokes, self.ends);
        let several = strokes.iter().any(|s| s.shape == Shape::Loop && s.points.len() > 1);
        let (runs, bound) = if several {
            let Plan { mut runs, .. } =
                self.plan(&entries, Some(0), Effort::Quick, &mut |done| progress(0.3 * done));
            self.settle_loops(&mut runs);
            let length = self.length(&runs);
            let least = self.least(length, effort);
            progress(0.5);
            if length > least {
                for run in &runs {
                    entries[run.stroke] = run.entry;
                }
                let mut next = self
                    .plan(&entries, Some(least), effort, &mut |done| progress(0.5 + 0.5 * done))
                    .runs;
                self.settle_loops(&mut next);
                if self.length(&next) < length {
                    runs = next;
                }
            }
            (runs, least)
        } else {
            let Plan { runs, bound } = self.plan(&entries, None, effort, progress);
            (runs, bound)
        };
        progress(1.0);
        self.told(runs, bound)
    }

    /// An order with its figures.
    pub fn told(&self, runs: Vec<Run>, bound: i64) -> StrokeOrder {
        let length = self.length(&runs);
        let ways = moves(self.strokes, &runs, self.ends);
        StrokeOrder {
            lifts: lifts(&ways, self.ends, runs.len()),
            cost: length as f64 / self.bare.scale,
            bound: bound.min(length) as f64 / self.bare.scale,
            travel: ways.iter().map(|w| distance(w[0], w[1])).sum(),
            runs,
        }
    }

    /// What the moves of an order cost.
    pub fn length(&self, runs: &[Run]) -> i64 {
        let ways = moves(self.strokes, runs, self.ends);
        ways.iter().map(|way| move_cost(&self.bare, way[0], way[1])).sum()
    }

    /// The net of all strokes, and which tip each node is: those at one place in the order of space,
    /// then `wide` loops, then park or the free end. Other loops stand at their `entries`.
    pub fn net(&self, strokes: &[Stroke], entries: &[usize], wide: &[usize]) -> (Net, Vec<Tip>) {
        let mut tips = Vec::new();
        for (i, stroke) in strokes.iter().enumerate() {
            let last = stroke.points.len() - 1;
            let stroke_tips: &[usize] = match stroke.shape {
                Shape::Line => &[0, last],
                Shape::Loop if wide.contains(&i) => &[],
                Shape::Loop => &[entries[i]],
            };
            tips.extend(stroke_tips.iter().map(|&e| Tip { stroke: i as u32, entry: e as u32 }));
        }
        let spot = |t: &Tip| strokes[t.stroke as usize].points[t.entry as usize];
        let spots: Vec<Place> = tips.iter().map(spot).collect();
        let order = spatial_order(&spots);
        let mut tips: Vec<Tip> = order.iter().map(|&i| tips[i as usize]).collect();
        let mut net = self.bare.clone_bare();
        net.xy = tips.iter().map(spot).collect();
        tips.extend(wide.iter().map(|&i| Tip { stroke: i as u32, entry: 0 }));
        net.xy.resize(tips.len(), [f64::NAN; 2]);
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
        match self.ends {
            Ends::Park(park) => net.xy.push(park),
            Ends::Open => net.xy.push([f64::NAN; 2]),
            Ends::Closed => {}
        }
        net.mate.resize(net.xy.len(), NONE);
        if let Some(last) = self.last {
            // Beside park, as if a stroke led from one to the other.
            net.mate[seen[last] as usize] = tips.len() as u32;
            net.mate[tips.len()] = seen[last];
        }
        (net, tips)
    }

    /// An order with loops entered at `entries`, and a bound on all such orders. `known` as for
    /// [`solve`], without what is drawn.
    fn plan(
        &self,
        entries: &[usize],
        known: Option<i64>,
        effort: Effort,
        progress: &mut dyn FnMut(f64),
    ) -> Plan {
        let (net, tips) = self.net(self.strokes, entries, &[]);
        let drawn = drawn(&net, tips.len());
        let (mut start, matched) = by_matching(&net, tips.len());
        let last = self.last.map(|_| net.mate[tips.len()]);
        if let Some(last) = last {
            start.retain(|&a| a != last);
            let park = start.iter().position(|&a| a as usize == tips.len()).unwrap_or(0);
            start.insert(park, last);
        }
        let started = net.length(&start) - drawn;
        // A matched graph in one piece is drawn at the cost of its matching: nothing is left to do.
        let (mut tour, bound) = if started <= matched.max(known.unwrap_or(0)) {
            (start, started)
        } else {
            let known = known.map(|known| known + drawn);
            let Solution { tour, bound, .. } = solve(&net, start, known, effort, progress);
            (tour, matched.max(bound - drawn))
        };
        if self.ends != Ends::Closed {
            let special = tour.iter().position(|&a| a as usize == tips.len()).unwrap_or(0);
            tour.rotate_left(special);
            tour.remove(0);
            if last.is_some_and(|last| tour[0] == last) {
                tour.reverse();
            }
        } else if let [first, .., last] = tour[..]
            && net.mate[first as usize] == last
        {
            tour.rotate_right(1);
        }
        let mut runs = Vec::with_capacity(self.strokes.len());
        let mut at = 0;
        while at < tour.len() {
            let tip = tips[tour[at] as usize];
            let line = self.strokes[tip.stroke as usize].shape == Shape::Line;
            let direction =
                if line && tip.entry > 0 { Direction::Backward } else { Direction::Forward };
            // A line of one point has both ends at index 0.
            at += 1 + usize::from(line);
            runs.push(Run { stroke: tip.stroke as usize, direction, entry: tip.entry as usize });
        }
        Plan { runs, bound }
    }
}

struct Plan {
    runs: Vec<Run>,
    bound: i64,
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

/// A tour that goes on to the nearest end each time, from the one nearest to park, or else the
/// leftmost.
fn by_nearest(net: &Net, tips: usize) -> Vec<u32> {
    let mut left: Vec<u32> = (0..tips as u32).collect();
    let mut tour: Vec<u32> = (tips as u32..net.len() as u32).collect();
    let park = tour.first().filter(|&&a| !net.xy[a as usize][0].is_nan()).copied();
    let across = |a: u32| net.xy[a as usize];
    let mut next = match park {
        Some(park) => left.iter().copied().min_by_key(|&a| (net.cost(park, a), a)),
        None => left.iter().copied().min_by(|&a, &b| {
            let (p, q) = (across(a), across(b));
            p[0].total_cmp(&q[0]).then(p[1].total_cmp(&q[1])).then(a.cmp(&b))
        }),
    };
    while let Some(a) = next {
        let mate = net.mate[a as usize];
        let end = if (mate as usize) < tips { mate } else { a };
        tour.extend([a].into_iter().chain((end != a).then_some(end)));
        left.retain(|&b| b != a && b != end);
        next = left.iter().copied().min_by_key(|&b| (net.cost(end, b), b));
    }
    tour
}

/// Every stroke in the order of space.
fn one_by_one(net: &Net, tips: usize) -> Vec<u32> {
    let end = |a: u32| net.mate[a as usize];
    let joined = |a: u32| (end(a) as usize) < tips;
    let firsts = (0..net.len() as u32).filter(|&a| !joined(a) || a < end(a));
    firsts.flat_map(|a| [a].into_iter().chain(joined(a).then_some(end(a)))).collect()
}

/// A tour that draws the matched graph piece by piece, or goes to the nearest, and what the matching alone must cost
/// (0 where it is too large to be exact).
fn by_matching(net: &Net, tips: usize) -> (Vec<u32>, i64) {
    // What compares all ends with all has its limits.
    if tips > MOST_TIPS {
        return (one_by_one(net, tips), 0);
    }
    let mut network = Network::new(net, tips);
    let matched = network.pair();
    network.connect();
    let ways = [network.circuit(), by_nearest(net, tips)];
    (ways.into_iter().min_by_key(|way| net.length(way)).expect("two ways"), matched.unwrap_or(0))
}

/// What the strokes of a net cost, which every tour of it pays.
pub(super) fn drawn(net: &Net, tips: usize) -> i64 {
    let mates = net.mate.iter().enumerate();
    mates
        .filter(|&(a, &b)| (b as usize) < tips && a < b as usize)
        .map(|(a, &b)| net.cost(a as u32, b))
        .sum()
}
