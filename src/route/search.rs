//! Lin-Kernighan search: chains of exchanges that gain, then kicks that open new chains.
//!
//! Lin and Kernighan, "An effective heuristic algorithm for the traveling-salesman problem", 1973;
//! the kick is the double bridge of Martin, Otto and Felten, 1991; the neighbours are those of
//! Helsgaun, 2000 (all from memory). A chain is followed without touching the tour: whether it
//! closes to one cycle is asked only when closing it would gain.

use std::collections::VecDeque;

use super::near::Lists;
use super::net::Net;
use super::tour::{DEEPEST, Exchange, Tour};

/// How far a search looks for each exchange.
#[derive(Clone, Copy, Debug)]
pub(super) struct Manner {
    /// Neighbours tried for the edge put in, by edges out so far.
    breadth: [usize; 5],
    /// Where no more are tried: the most edges a chain may have that follows only the most
    /// promising neighbour from there.
    deepest: usize,
    kick: Kick,
}

/// Where a kick opens the tour, four times.
#[derive(Clone, Copy, Debug)]
enum Kick {
    /// One after the other, so many places apart at most.
    Along(usize),
    /// At one place, and at three so many steps from it at most, each step to a neighbour.
    Around(usize),
}

/// All ways to four edges and one way on: fewer kicks that reach further, best for places without
/// a pattern.
pub(super) const THOROUGH: Manner =
    Manner { breadth: [0, 5, 3, 1, 0], deepest: DEEPEST, kick: Kick::Along(50) };

/// The same where places stand in rows: rows side by side are far apart along the tour, and what is
/// wrong in one is mended with the next.
pub(super) const SIDEWAYS: Manner = Manner { kick: Kick::Around(25), ..THOROUGH };

/// To three edges: on a lattice most exchanges cost the same, and many light kicks among them do
/// more than a few heavy ones.
pub(super) const LIGHT: Manner =
    Manner { breadth: [0, 5, 2, 0, 0], deepest: 0, kick: Kick::Along(10) };

/// How much longer a tour a kick may leave behind at first, in mean edges: falls to 0.
const WARMTH: f64 = 0.1;

/// A fixed sequence that looks like chance (Vigna's SplitMix64, from memory).
#[derive(Clone, Debug)]
pub(super) struct Chance(pub u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number below `n`, near enough uniform.
    pub fn below(&mut self, n: usize) -> usize {
        ((u128::from(self.next()) * n as u128) >> 64) as usize
    }

    /// A number of mean 1 with a long tail, as -ln u would be, by the four basic operations alone.
    fn tail(&mut self) -> f64 {
        let u = ((self.next() >> 11) as f64 + 1.0) / (1u64 << 53) as f64;
        // -ln u = e·ln 2 + 2·atanh((1-m)/(1+m)), u = m·2^-e, ½ < m ≤ 1: three terms do.
        let (mut m, mut e) = (u, 0.0);
        while m <= 0.5 {
            m *= 2.0;
            e += 1.0;
        }
        let z = (1.0 - m) / (1.0 + m);
        e * std::f64::consts::LN_2 + 2.0 * z * (1.0 + z * z * (1.0 / 3.0 + z * z / 5.0))
    }
}

/// A tour under improvement.
pub(super) struct Search<'a> {
    pub net: &'a Net,
    pub lists: &'a Lists,
    pub manner: Manner,
    pub tour: Tour,
    pub length: i64,
    queue: VecDeque<u32>,
    queued: Vec<bool>,
    /// The chain being followed.
    x: Exchange,
    /// The chain of most gain that makes a tour, though closing it gains nothing.
    promise: (i64, Exchange),
    chance: Chance,
}

impl<'a> Search<'a> {
    pub fn new(net: &'a Net, lists: &'a Lists, manner: Manner, order: Vec<u32>) -> Self {
        let none = Exchange { t: [0; 2 * DEEPEST], edges: 0 };
        Search {
            net,
            lists,
            manner,
            length: net.length(&order),
            queued: vec![false; order.len()],
            tour: Tour::new(order),
            queue: VecDeque::new(),
            x: none,
            promise: (0, none),
            chance: Chance(1),
        }
    }

    /// Looks from every node until nothing gains.
    pub fn descend(&mut self) {
        let order = self.tour.order.clone();
        for node in order {
            self.remember(node);
        }
        self.settle(false);
    }

    fn remember(&mut self, node: u32) {
        if !self.queued[node as usize] {
            self.queued[node as usize] = true;
            self.queue.push_back(node);
        }
    }

    /// Until nothing gains. What need not be taken back is not kept: on large tours it would fill
    /// memory.
    fn settle(&mut self, undoable: bool) {
        while let Some(node) = self.queue.pop_front() {
            self.queued[node as usize] = false;
            while self.improve(node) {
                if !undoable {
                    self.tour.forget();
                }
            }
        }
    }

    /// One gainful exchange that takes out an edge at `node`, if there is one.
    fn improve(&mut self, node: u32) -> bool {
        for other in [self.tour.next(node), self.tour.previous(node)] {
            if self.net.fixed(node, other) {
                continue;
            }
            self.x.t[0] = node;
            self.x.t[1] = other;
            self.x.edges = 1;
            self.promise.0 = 0;
            let mut gain = self.deepen(self.net.cost(node, other));
            if gain == 0 && self.promise.0 > 0 {
                self.x = self.promise.1;
                gain = self.narrow(self.promise.0);
            }
            if gain > 0 {
                self.length -= gain;
                for i in 0..2 * self.x.edges {
                    self.remember(self.x.t[i]);
                }
                return true;
            }
        }
        false
    }

    /// Follows the chain in `x`, whose edges out exceed the edges in by `gain`; returns the gain of
    /// the exchange applied, or 0.
    fn deepen(&mut self, gain: i64) -> i64 {
        let k = self.x.edges;
        let last = self.x.t[2 * k - 1];
        let mut width = self.manner.breadth[k];
        for at in self.lists.range(last) {
            let gain = gain - self.lists.cost[at];
            if gain <= 0 {
                continue;
            }
            let c = self.lists.to[at];
            let sides = [self.tour.next(c), self.tour.previous(c)];
            if sides.contains(&last) {
                continue;
            }
            if width == 0 {
                break;
            }
            width -= 1;
            for d in sides {
                if self.net.fixed(c, d) || self.x.takes(k, c, d) {
                    continue;
                }
                let gain = gain + self.net.cost(c, d);
                self.x.set(k, c, d);
                let closed = gain - self.net.cost(d, self.x.t[0]);
                if closed > 0
                    && let Some(splice) = self.tour.splice(&self.x)
                {
                    self.tour.apply(&splice);
                    return closed;
                }
                if self.manner.breadth[k + 1] > 0 {
                    let closed = self.deepen(gain);
                    if closed > 0 {
                        return closed;
                    }
                } else if gain > self.promise.0
                    && self.manner.deepest > k + 1
                    && self.tour.splice(&self.x).is_some()
                {
                    self.promise = (gain, self.x);
                }
                self.x.edges = k;
            }
        }
        0
    }

    /// Follows the chain in `x` on by the one edge pair of most gain that makes a tour, and again.
    fn narrow(&mut self, gain: i64) -> i64 {
        let k = self.x.edges;
        if k == self.manner.deepest {
            return 0;
        }
        let last = self.x.t[2 * k - 1];
        let mut pairs = [(0i64, 0u32, 0u32); 16];
        let mut count = 0;
        for at in self.lists.range(last) {
            let gain = gain - self.lists.cost[at];
            let c = self.lists.to[at];
            let sides = [self.tour.next(c), self.tour.previous(c)];
            if gain <= 0 || sides.contains(&last) {
                continue;
            }
            for d in sides {
                if count < pairs.len() && !self.net.fixed(c, d) && !self.x.takes(k, c, d) {
                    pairs[count] = (gain + self.net.cost(c, d), c, d);
                    count += 1;
                }
            }
        }
        pairs[..count].sort_unstable();
        for &(gain, c, d) in pairs[..count].iter().rev() {
            self.x.set(k, c, d);
            if let Some(splice) = self.tour.splice(&self.x) {
                let closed = gain - self.net.cost(d, self.x.t[0]);
                if closed > 0 {
                    self.tour.apply(&splice);
                    return closed;
                }
                return self.narrow(gain);
            }
        }
        0
    }

    /// `kicks` double bridges over short stretches; each is kept if the tour is then no longer
    /// than before by more than chance allows, and the allowance falls to nothing (annealing over
    /// descents, after Martin, Otto and Felten). Ends early at `goal`. The best tour is kept.
    pub fn kick(&mut self, kicks: usize, goal: i64, progress: &mut dyn FnMut(f64)) {
        let n = self.tour.order.len();
        let mut best: Option<(i64, Vec<u32>)> = None;
        let mean = self.length as f64 / n as f64;
        for kick in 0..kicks {
            if self.length <= goal {
                break;
            }
            let done = kick as f64 / kicks as f64;
            if kick % 256 == 0 {
                progress(done);
            }
            let before = self.length;
            if !self.bridge() {
                continue;
            }
            self.settle(true);
            let allowed = (WARMTH * mean * (1.0 - done) * self.chance.tail()) as i64;
            if self.length > before + allowed {
                self.tour.undo();
                self.length = before;
                continue;
            }
            if self.length > before && best.as_ref().is_none_or(|b| before < b.0) {
                // About to leave the best so far: step back once to copy it.
                let after = self.tour.order.clone();
                self.tour.undo();
                best = Some((before, std::mem::replace(&mut self.tour, Tour::new(after)).order));
            }
            self.tour.forget();
        }
        if let Some((length, order)) = best
            && length < self.length
        {
            self.tour = Tour::new(order);
            self.length = length;
        }
    }

    /// The nodes before and after the gap behind a position.
    fn gap(&self, at: usize) -> (u32, u32) {
        let n = self.tour.order.len();
        (self.tour.order[at % n], self.tour.order[(at + 1) % n])
    }

    /// One double bridge somewhere; false if there is no room for it.
    fn bridge(&mut self) -> bool {
        let n = self.tour.order.len();
        let mut cut = match self.manner.kick {
            Kick::Along(reach) => self.along(reach.min(n / 4)),
            Kick::Around(steps) => self.around(steps),
        };
        let mut ends = [(0, 0); 4];
        let mut moved = 0;
        for i in 0..4 {
            cut[i] += moved;
            ends[i] = self.gap(cut[i]);
            if self.net.fixed(ends[i].0, ends[i].1) {
                // Strokes never follow each other without a gap.
                moved += 1;
                cut[i] += 1;
                ends[i] = self.gap(cut[i]);
            }
        }
        if cut[3] - cut[0] >= n || (1..4).any(|i| cut[i - 1] == cut[i]) {
            return false;
        }
        let mut change = 0;
        for i in 0..4 {
            // Stretch order A D C B: the end before gap i meets the start after gap i+2.
            change += self.net.cost(ends[i].0, ends[(i + 2) % 4].1);
            change -= self.net.cost(ends[i].0, ends[i].1);
        }
        self.tour.bridge(cut);
        self.length += change;
        for (a, b) in ends {
            self.remember(a);
            self.remember(b);
        }
        true
    }

    /// Four positions, rising.
    fn along(&mut self, reach: usize) -> [usize; 4] {
        let mut cut = [self.chance.below(self.tour.order.len()); 4];
        for i in 1..4 {
            cut[i] = cut[i - 1] + 1 + self.chance.below(reach);
        }
        cut
    }

    /// Four positions, sorted.
    fn around(&mut self, steps: usize) -> [usize; 4] {
        let from = self.chance.below(self.tour.order.len()) as u32;
        let mut cut = [self.tour.place[from as usize] as usize; 4];
        for cut in &mut cut[1..] {
            let mut node = from;
            for _ in 0..=self.chance.below(steps) {
                let near = self.lists.range(node);
                node = self.lists.to[near.start + self.chance.below(near.len())];
            }
            *cut = self.tour.place[node as usize] as usize;
        }
        cut.sort_unstable();
        cut
    }
}
