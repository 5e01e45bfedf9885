//! The last of the proof: no tour is shorter, or here is one.
//!
//! Branch and cut (Padberg and Rinaldi 1991, from memory). Edges that the bound's prices leave to
//! no shorter tour are gone; on the others a tour is relaxed to a linear program; what the program
//! breaks and no tour does is added to it; when nothing is, a decision is taken either way, and
//! both are looked into.

use super::Place;
use super::cuts::{Cut, crosses, crossing};
use super::net::Net;
use super::relaxation::{Failed, Program, Proof, Relaxation, split};
use super::solve::enough;

/// Rounds of odd cuts that win next to nothing before something is decided.
const PATIENCE: usize = 2;

/// Lines and edges, of each so many, whose decision is tried both ways before one is taken.
const CANDIDATES: usize = 20;

/// With more edges left than so many, or than so many for each node, a program takes too long, and the bound
/// is too far off to be closed.
const SURVIVORS: usize = 12_000;
const SURVIVORS_EACH: usize = 40;

/// No decision is taken where a program is worth so many mean steps less than the target: with twice
/// as many, of 180 grids none more was settled.
const TOO_LOW: f64 = 1.0;

/// Edges that are so many units from the lightest tree are active from the start.
const ACTIVE: f64 = 0.3;

/// A tree's join counts as a cut when the next way out is so many units longer.
const CLEAR: f64 = 0.01;

/// A line counts as crossed no even number of times when it is so far from every even number.
const OFF: f64 = 0.1;

/// A tour, or the dearest price, is counted in about so many units, so that rounding takes next to nothing off a
/// proof.
const FINE: i64 = 1 << 36;

/// What is known of all tours when the search has ended.
pub(super) struct Settled {
    /// No tour is shorter.
    pub bound: i64,
    /// A tour shorter than the one that was known.
    pub tour: Option<Vec<u32>>,
}

struct Settling<'a> {
    net: &'a Net,
    /// It counts in finer units than costs do: so many to one.
    fine: i64,
    relaxation: Relaxation,
    /// The nodes on one side of every upright and level line between places.
    sides: Vec<Vec<bool>>,
    /// Of the shortest tour known.
    length: i64,
    /// It, if found here.
    tour: Option<Vec<u32>>,
}

/// A straight line across the places, which every tour crosses an even number of times.
struct Line {
    /// The edges across.
    crossed: Vec<usize>,
    /// The even number below the times that a program crosses it.
    below: i64,
    /// How far those times are from an even number.
    off: f64,
}

/// How the value of a program comes on as odd cuts are added.
#[derive(Default)]
struct Gain {
    reached: f64,
    /// Rounds that won next to nothing.
    idle: usize,
}

/// A decision tried both ways.
struct Fork {
    /// The lower value of the two sides, and the higher.
    values: [f64; 2],
    sides: [Program; 2],
}

/// Looks for a tour shorter than `tour`, or for the proof that there is none, with no more than so
/// much `work`. `price` are good prices of the nodes but the last; `bound` is what is proved
/// already, by whatever means.
pub(super) fn settle(net: &Net, price: &[i64], bound: i64, tour: &[u32], work: u64) -> Settled {
    let length = net.length(tour);
    // What all prices have in common changes no tree. This way the lightest step weighs nothing: from there the
    // solver finds the prices that prove a program sooner.
    let price = &price[..net.len() - 1];
    let common = lightest_step(net, price, tour) / 2;
    let price: Vec<i64> = price.iter().map(|p| p - common).collect();
    let dearest = price.iter().map(|p| p.abs()).max().unwrap_or(0);
    let fine = (FINE / length.max(dearest).max(1)).max(1);
    let relaxation = Relaxation {
        nodes: net.len(),
        ends: Vec::new(),
        weight: Vec::new(),
        shift: fine * 2 * price.iter().sum::<i64>(),
        active: Vec::new(),
        unit: ((fine * length) as f64 / net.len() as f64).max(1.0),
        left: work,
    };
    let mut settling = Settling { net, fine, relaxation, sides: sides(net), length, tour: None };
    let cuts = settling.keep_survivors(&price, tour);
    if settling.relaxation.ends.len() > SURVIVORS.min(SURVIVORS_EACH * net.len()) {
        return Settled { bound, tour: None };
    }
    let proven = match settling.relaxation.first(cuts) {
        Ok(program) => settling.look_into(program, fine * bound, false),
        Err(Failed) => fine * bound,
    };
    // Costs are whole numbers, so the bound is one as well.
    Settled { bound: ((proven + fine - 1) / fine).min(settling.length), tour: settling.tour }
}

/// Of a tour's steps between nodes that have prices, the least cost with the prices of both ends.
fn lightest_step(net: &Net, price: &[i64], tour: &[u32]) -> i64 {
    let priced = |step: &&[u32]| step.iter().all(|&a| (a as usize) < price.len());
    let weigh = |step: &[u32]| {
        net.cost(step[0], step[1]) + step.iter().map(|&a| price[a as usize]).sum::<i64>()
    };
    tour.windows(2).filter(priced).map(weigh).min().unwrap_or(0)
}

/// The nodes on one side of every upright and level line between places. The free end of an open
/// order is on neither side, so on the far one.
fn sides(net: &Net) -> Vec<Vec<bool>> {
    let mut sides = Vec::new();
    for axis in 0..2 {
        let at = |xy: &Place| xy[axis];
        let mut places: Vec<f64> = net.xy.iter().map(at).filter(|c| !c.is_nan()).collect();
        places.sort_by(f64::total_cmp);
        places.dedup();
        let beyond = places.iter().skip(1);
        sides.extend(beyond.map(|&to| net.xy.iter().map(|xy| at(xy) < to).collect::<Vec<_>>()));
    }
    sides
}

impl Settling<'_> {
    /// No tour below this is worth finding, so a bound of as much ends the search.
    fn target(&self) -> i64 {
        let shorter = self.length - 1 - (enough(self.length) - self.length) / 2;
        self.fine * shorter + 1
    }

    /// Keeps the edges that may be in a tour below the target: with any other forced into it, the
    /// lightest 1-tree is no lighter than that. All pairs are looked at. Tells the cuts that the tree
    /// makes.
    fn keep_survivors(&mut self, price: &[i64], tour: &[u32]) -> Vec<Cut> {
        let last = self.net.len() - 1;
        let weigh = |a: usize, b: usize| {
            let of_end = if b < last { price[b] } else { 0 };
            self.fine * (self.net.cost(a as u32, b as u32) + price[a] + of_end)
        };
        // Prim's tree; with every node comes the heaviest edge on its way to each before it.
        let mut near = vec![(i64::MAX, 0); last];
        let mut heaviest = vec![vec![i64::MIN; last]; last];
        let mut grown: Vec<usize> = Vec::with_capacity(last);
        let mut out = vec![true; last];
        let mut tree = Vec::with_capacity(last);
        let mut next = 0;
        while grown.len() < last {
            out[next] = false;
            if !grown.is_empty() {
                let (weight, parent) = near[next];
                tree.push((weight, next, parent));
                for &a in &grown {
                    let most = heaviest[parent][a].max(weight);
                    heaviest[next][a] = most;
                    heaviest[a][next] = most;
                }
            }
            grown.push(next);
            let from = next;
            for b in (0..last).filter(|&b| out[b]) {
                near[b] = near[b].min((weigh(b, from), from));
            }
            next = (0..last).filter(|&b| out[b]).min_by_key(|&b| near[b].0).unwrap_or(0);
        }
        let mut joint: Vec<i64> = (0..last).map(|a| weigh(a, last)).collect();
        joint.sort_unstable();
        let target = self.target();
        let relaxation = &mut self.relaxation;
        let lightest = tree.iter().map(|t| t.0).sum::<i64>() + joint[0] + joint[1];
        let room = target - (lightest - relaxation.shift);
        let mut place = vec![0; last + 1];
        for (i, &a) in tour.iter().enumerate() {
            place[a as usize] = i;
        }
        for a in 0..last {
            for b in a + 1..=last {
                let weight = weigh(a, b);
                let over = weight - if b < last { heaviest[a][b] } else { joint[1] };
                if over < room {
                    let apart = place[a].abs_diff(place[b]);
                    let of_tour = apart == 1 || apart == last;
                    relaxation.ends.push([a as u32, b as u32]);
                    relaxation.weight.push(weight);
                    relaxation.active.push(of_tour || (over as f64) < ACTIVE * relaxation.unit);
                }
            }
        }
        self.cuts_of_tree(tree)
    }

    /// The cuts that make the tree a bound: what it joins by lighter edges than lead out of there
    /// is entered and left by a tour.
    fn cuts_of_tree(&self, mut tree: Vec<(i64, usize, usize)>) -> Vec<Cut> {
        tree.sort_unstable();
        let mut part: Vec<usize> = (0..self.net.len()).collect();
        let mut joined_at = vec![None; self.net.len()];
        let mut cuts = Vec::new();
        for (weight, a, b) in tree {
            for of in [part[a], part[b]] {
                let clear = |at: i64| (weight - at) as f64 > CLEAR * self.relaxation.unit;
                if joined_at[of].is_some_and(clear) {
                    let inside: Vec<bool> = part.iter().map(|&p| p == of).collect();
                    cuts.push(crossing(&self.relaxation.ends, &inside));
                }
            }
            let (from, to) = (part[a], part[b]);
            part.iter_mut().filter(|p| **p == from).for_each(|p| *p = to);
            joined_at[to] = Some(weight);
        }
        cuts
    }

    /// A bound on the tours that keep to a program's decisions, `bound` at least, but no more than
    /// the target: of tours beyond it nothing is known. `decided` is whether single edges have been
    /// decided by what a program proves.
    fn look_into(&mut self, program: Program, bound: i64, decided: bool) -> i64 {
        let mut best = bound;
        // Where the solver gives up, what was proved before stands.
        let _ = self.try_to_look_into(program, &mut best, decided);
        best
    }

    fn try_to_look_into(
        &mut self,
        mut program: Program,
        bound: &mut i64,
        mut decided: bool,
    ) -> Result<(), Failed> {
        let mut gain = Gain::default();
        loop {
            let target = self.target();
            let value = self.relaxation.value(&program).filter(|&v| v < target as f64);
            let Some(value) = value else {
                match self.prove(&mut program, bound)? {
                    // The value of a program solved on from another is at times too high, so that
                    // its prices prove less.
                    Some(proof) if proof.worth < target && !program.anew => {
                        program = self.relaxation.anew(program)?;
                    }
                    Some(_) => return Ok(()),
                    None => gain = Gain::default(),
                }
                continue;
            };
            let share = program.share();
            let mut new = self.relaxation.shares(&share).crossed_too_little();
            if new.is_empty() && !share.iter().any(|&s| split(s)) {
                // A tour: with it the target falls to what the program is worth.
                self.take(&share)?;
                continue;
            }
            if self.relaxation.left == 0 {
                if !decided {
                    self.prove(&mut program, bound)?;
                }
                return Ok(());
            }
            if new.is_empty() && gain.goes_on(value, target as f64) {
                new = self.relaxation.shares(&share).odd(&self.sides);
            }
            if !new.is_empty() {
                program = self.relaxation.add(program, new)?;
                continue;
            }
            let low = value < target as f64 - TOO_LOW * self.relaxation.unit;
            let line = if low { None } else { self.fork_at_line(&program, &share) };
            let closes = line.as_ref().is_some_and(|fork| fork.closes(target));
            if !decided && !closes {
                // What is decided of single edges here holds for all that follows.
                let Some(proof) = self.prove(&mut program, bound)? else {
                    gain = Gain::default();
                    continue;
                };
                decided = true;
                if self.decide_by_rest(&mut program, &proof) {
                    program = self.relaxation.anew(program)?;
                    gain.idle = 0;
                }
                continue;
            }
            if low {
                return Ok(());
            }
            let fork = if closes { line } else { self.fork_at_edge(&program, &share, line) };
            let [one, other] = fork.ok_or(Failed)?.sides;
            let one = self.look_into(one, *bound, decided);
            if one > *bound {
                *bound = one.min(self.look_into(other, *bound, decided));
            }
            if !decided && *bound < self.target() {
                self.prove(&mut program, bound)?;
            }
            return Ok(());
        }
    }

    /// Raises the bound to what the program proves. Where that is too little and shows that the program
    /// lacks edges, it is solved anew with them, and `None` told.
    fn prove(&mut self, program: &mut Program, bound: &mut i64) -> Result<Option<Proof>, Failed> {
        let before = self.relaxation.count_active();
        let proof = self.relaxation.proof(program)?;
        *bound = (*bound).max(proof.worth.min(self.target()));
        if proof.worth < self.target() && self.relaxation.count_active() > before {
            *program = self.relaxation.anew(program.clone())?;
            return Ok(None);
        }
        Ok(Some(proof))
    }

    /// Decides every edge that would cost too much, or lack too much; false if there is none.
    fn decide_by_rest(&self, program: &mut Program, proof: &Proof) -> bool {
        // The worth of this very proof: whatever else is proved has other rests.
        let room = self.target().saturating_sub(proof.worth);
        let mut any = false;
        for (decided, &rest) in program.decided.iter_mut().zip(&proof.rest) {
            if decided.is_none() && rest.saturating_abs() >= room {
                *decided = Some(rest < 0);
                any = true;
            }
        }
        any
    }

    /// Decides how often a line across is crossed: what closes a side, or else raises both most.
    fn fork_at_line(&mut self, program: &Program, share: &[f64]) -> Option<Fork> {
        let mut best = None;
        for line in self.lines(share) {
            let sides = line.decided().map(|cut| self.relaxation.add(program.clone(), vec![cut]));
            if self.rival(&mut best, sides) {
                break;
            }
        }
        best
    }

    /// Decides whether an edge is used, where that raises both sides more than the best fork so far.
    fn fork_at_edge(
        &mut self,
        program: &Program,
        share: &[f64],
        mut best: Option<Fork>,
    ) -> Option<Fork> {
        let mut edges: Vec<usize> = (0..share.len()).filter(|&e| split(share[e])).collect();
        edges.sort_by(|&a, &b| (share[a] - 0.5).abs().total_cmp(&(share[b] - 0.5).abs()));
        for &e in edges.iter().take(CANDIDATES) {
            let sides = [true, false].map(|to| self.relaxation.decide(program, e, to));
            if self.rival(&mut best, sides) {
                break;
            }
        }
        best
    }

    /// Keeps the better of two forks; true if one of its sides is closed.
    fn rival(&self, best: &mut Option<Fork>, sides: [Result<Program, Failed>; 2]) -> bool {
        let [Ok(one), Ok(other)] = sides else {
            return false;
        };
        let target = self.target();
        let most = target as f64;
        let value = |p: &Program| self.relaxation.value(p).map_or(most, |v| v.min(most));
        let (a, b) = (value(&one), value(&other));
        let fork = Fork { values: [a.min(b), a.max(b)], sides: [one, other] };
        let closes = fork.closes(target);
        if closes || best.as_ref().is_none_or(|b| fork.values > b.values) {
            *best = Some(fork);
        }
        closes
    }

    /// Lines that are crossed far from an even number of times, the farthest first.
    fn lines(&self, share: &[f64]) -> Vec<Line> {
        let mut found = Vec::new();
        for inside in &self.sides {
            let crossed: Vec<usize> =
                (0..share.len()).filter(|&e| crosses(self.relaxation.ends[e], inside)).collect();
            let times: f64 = crossed.iter().map(|&e| share[e]).sum();
            let below = 2 * (times / 2.0) as i64;
            let over = times - below as f64;
            let off = over.min(2.0 - over);
            if off > OFF {
                found.push(Line { crossed, below, off });
            }
        }
        found.sort_by(|a, b| b.off.total_cmp(&a.off));
        found.truncate(CANDIDATES);
        found
    }

    /// Takes the tour that the program has found.
    ///
    /// # Errors
    /// It is none, or no shorter than the one that is known.
    fn take(&mut self, share: &[f64]) -> Result<(), Failed> {
        let mut beside = vec![Vec::new(); self.net.len()];
        for (&[a, b], &share) in self.relaxation.ends.iter().zip(share) {
            if share > 0.5 {
                beside[a as usize].push(b);
                beside[b as usize].push(a);
            }
        }
        let mut tour: Vec<u32> = vec![0];
        let mut before = None;
        while tour.len() < self.net.len() {
            let at = tour[tour.len() - 1];
            let next = beside[at as usize].iter().find(|&&b| Some(b) != before).ok_or(Failed)?;
            before = Some(at);
            tour.push(*next);
        }
        let mut seen = tour.clone();
        seen.sort_unstable();
        seen.dedup();
        let length = self.net.length(&tour);
        if seen.len() < self.net.len() || length >= self.length {
            return Err(Failed);
        }
        self.length = length;
        self.tour = Some(tour);
        Ok(())
    }
}

impl Gain {
    /// Whether another round may win something.
    fn goes_on(&mut self, value: f64, target: f64) -> bool {
        let wins = value > self.reached + (target - self.reached) / 50.0;
        self.idle = if wins { 0 } else { self.idle + 1 };
        self.reached = self.reached.max(value);
        self.idle < PATIENCE
    }
}

impl Fork {
    /// Whether one of its sides is worth the target.
    fn closes(&self, target: i64) -> bool {
        self.values[1] >= target as f64
    }
}

impl Line {
    /// That it is crossed no more often than the even number below, or no less than that above.
    fn decided(&self) -> [Cut; 2] {
        [(-1, -self.below), (1, self.below + 2)].map(|(factor, least)| Cut {
            terms: self.crossed.iter().map(|&e| (e as u32, factor)).collect(),
            least,
            decided: true,
        })
    }
}
