//! Tours of a lattice, woven anew: loose ends mended by tight edges, rings merged through cells.
//!
//! On a lattice most steps cost the same, and a chain of exchanges that must keep one tour loses its
//! way among them. Here a dear edge is taken out and its ends are mended by a walk that takes and
//! gives edges in turn (Berge 1957), all of them tight: in some lightest 1-tree of the bound. The
//! tour may fall into rings; two rings are one again when an edge of each is exchanged for the
//! two tight edges across, at no cost (Karp's patching, 1979; both from memory).

use super::near::Lists;
use super::net::{NONE, Net};
use super::search::Chance;

/// Of a hundred tries, how many take out a tight edge, only to be somewhere else afterwards.
const STROLLS: usize = 30;

/// Loose ends looked at for one walk.
const FARTHEST: usize = 600;

/// More rings than these are not worth merging.
const RINGS: usize = 40;

/// A tour as a ring of links, and changes to it that may be taken back.
pub(super) struct Weave<'a> {
    net: &'a Net,
    tight: &'a Lists,
    /// Both neighbours of every node, or [`NONE`] where it is loose.
    link: Vec<[u32; 2]>,
    pub length: i64,
    /// Links overwritten since the last tour.
    old: Vec<(u32, [u32; 2])>,
    /// Ring of every node.
    ring: Vec<u32>,
    /// How a node was made loose: by giving the second node, which lost it, to the first.
    from: Vec<[u32; 2]>,
    /// The last walk, of so many, to make a node loose, and to pass through it.
    seen: Vec<u32>,
    passed: Vec<u32>,
    walks: u32,
    chance: Chance,
}

/// Edges of the tour that a try may begin with.
#[derive(Default)]
struct Dear {
    /// Not tight.
    loose: Vec<(u32, u32)>,
    /// Dearer than the cheapest step, tight or not.
    long: Vec<(u32, u32)>,
}

impl<'a> Weave<'a> {
    /// `tight` holds every node's tight edges.
    pub fn new(net: &'a Net, tight: &'a Lists, tour: &[u32]) -> Self {
        let n = tour.len();
        let mut link = vec![[NONE; 2]; n];
        for i in 0..n {
            link[tour[i] as usize] = [tour[(i + n - 1) % n], tour[(i + 1) % n]];
        }
        Weave {
            net,
            tight,
            link,
            length: net.length(tour),
            old: Vec::new(),
            ring: vec![0; n],
            from: vec![[NONE; 2]; n],
            seen: vec![0; n],
            passed: vec![0; n],
            walks: 0,
            chance: Chance(3),
        }
    }

    /// Up to `tries` changes, each kept if the tour is then no longer than before; ends at `goal`.
    pub fn improve(&mut self, tries: usize, goal: i64) {
        let mut dear = self.dear();
        for _ in 0..tries {
            if self.length <= goal || dear.loose.is_empty() {
                return;
            }
            let before = self.length;
            let Some(edge) = self.first(&dear) else {
                dear = self.dear();
                continue;
            };
            if self.change(edge, &dear) && self.merge() && self.length <= before {
                self.old.clear();
            } else {
                while let Some((node, link)) = self.old.pop() {
                    self.link[node as usize] = link;
                }
                self.length = before;
            }
        }
    }

    /// The tour as a sequence of nodes.
    pub fn order(&self) -> Vec<u32> {
        let mut order = Vec::with_capacity(self.link.len());
        let (mut before, mut at) = (self.link[0][0], 0);
        loop {
            order.push(at);
            (before, at) = (at, self.next(before, at));
            if at == 0 {
                return order;
            }
        }
    }

    fn dear(&self) -> Dear {
        let mut dear = Dear::default();
        let last = self.link.len() as u32 - 1;
        let edges = || {
            let all = (0..=last).flat_map(|a| self.link[a as usize].map(|b| (a, b)));
            all.filter(|(a, b)| a < b)
        };
        let least = edges().filter(|e| e.1 < last).map(|(a, b)| self.net.cost(a, b)).min();
        let least = least.unwrap_or(0);
        for (a, b) in edges() {
            if !self.is_tight(a, b) {
                dear.loose.push((a, b));
            }
            if b < last && self.net.cost(a, b) > least + least / 1_000 {
                dear.long.push((a, b));
            }
        }
        dear
    }

    fn next(&self, before: u32, at: u32) -> u32 {
        let [a, b] = self.link[at as usize];
        if a == before { b } else { a }
    }

    fn linked(&self, a: u32, b: u32) -> bool {
        self.link[a as usize].contains(&b)
    }

    fn loose(&self, a: u32) -> bool {
        self.linked(a, NONE)
    }

    fn is_tight(&self, a: u32, b: u32) -> bool {
        self.tight.range(a).any(|at| self.tight.to[at] == b)
    }

    fn relink(&mut self, a: u32, was: u32, is: u32) {
        self.old.push((a, self.link[a as usize]));
        let link = &mut self.link[a as usize];
        link[usize::from(link[0] != was)] = is;
    }

    /// Takes an edge out; false if there is none.
    fn cut(&mut self, a: u32, b: u32) -> bool {
        if !self.linked(a, b) {
            return false;
        }
        self.relink(a, b, NONE);
        self.relink(b, a, NONE);
        self.length -= self.net.cost(a, b);
        true
    }

    /// Puts an edge in; false if it is there, or an end is not loose.
    fn tie(&mut self, a: u32, b: u32) -> bool {
        if a == b || self.linked(a, b) || !self.loose(a) || !self.loose(b) {
            return false;
        }
        self.relink(a, NONE, b);
        self.relink(b, NONE, a);
        self.length += self.net.cost(a, b);
        true
    }

    /// An edge to begin with; `None` when the one chosen is no longer there.
    fn first(&mut self, dear: &Dear) -> Option<(u32, u32)> {
        if self.chance.below(100) < STROLLS {
            let a = self.chance.below(self.link.len()) as u32;
            return Some((a, self.link[a as usize][self.chance.below(2)]));
        }
        let (a, b) = dear.loose[self.chance.below(dear.loose.len())];
        let edge = if self.chance.below(2) == 0 { (a, b) } else { (b, a) };
        self.linked(a, b).then_some(edge)
    }

    /// Takes an edge out and mends its ends, mostly along with those of a long edge nearby: a step
    /// too long between two places of one colour goes together with one of the other.
    fn change(&mut self, (a, b): (u32, u32), dear: &Dear) -> bool {
        let mut ends = vec![a, b];
        self.cut(a, b);
        if self.chance.below(3) > 0 {
            let place = self.net.xy[a as usize];
            let mut nearest = (f64::INFINITY, (a, b));
            for &(c, d) in &dear.long {
                let way = super::distance(place, self.net.xy[c as usize]);
                let way = way * (1 + self.chance.below(8)) as f64;
                if way < nearest.0 && self.linked(c, d) {
                    nearest = (way, (c, d));
                }
            }
            let (c, d) = nearest.1;
            if self.cut(c, d) {
                ends.extend([c, d]);
            }
        }
        ends.iter().all(|&end| !self.loose(end) || self.mend(end))
            && !ends.iter().any(|&end| self.loose(end))
    }

    /// The shortest walk of tight edges from the loose node `start` to another: each edge given
    /// takes the place of one taken, so that the end of the walk moves on.
    fn mend(&mut self, start: u32) -> bool {
        self.walks += 1;
        self.seen[start as usize] = self.walks;
        self.from[start as usize] = [NONE; 2];
        let mut queue = vec![start];
        let mut at = 0;
        while at < queue.len().min(FARTHEST) {
            let end = queue[at];
            at += 1;
            let range = self.tight.range(end);
            if range.is_empty() {
                continue;
            }
            let turn = self.chance.below(range.len());
            for i in 0..range.len() {
                let to = self.tight.to[range.start + (i + turn) % range.len()];
                let pair = self.link[to as usize];
                let leads_on = |a: &u32| *a == NONE || self.seen[*a as usize] != self.walks;
                if to == start || !pair.iter().any(leads_on) || pair.contains(&end) {
                    continue;
                }
                if self.walked(end, end, to) {
                    continue;
                }
                if pair.contains(&NONE) {
                    return self.walk(end, to);
                }
                let turn = self.chance.below(2);
                for next in [pair[turn], pair[1 - turn]] {
                    if self.seen[next as usize] != self.walks && !self.walked(end, to, next) {
                        self.seen[next as usize] = self.walks;
                        self.passed[to as usize] = self.walks;
                        self.from[next as usize] = [end, to];
                        queue.push(next);
                    }
                }
            }
        }
        false
    }

    /// Whether the walk to `end` gives or takes the edge between `a` and `b`.
    fn walked(&self, mut end: u32, a: u32, b: u32) -> bool {
        // Each of its edges begins or ends where it passes through.
        if ![a, b].iter().any(|&a| self.passed[a as usize] == self.walks) {
            return false;
        }
        loop {
            let [before, to] = self.from[end as usize];
            if before == NONE {
                return false;
            }
            if [(to, end), (end, to), (before, to), (to, before)].contains(&(a, b)) {
                return true;
            }
            end = before;
        }
    }

    /// Makes the walk that loosens `end` and ties it to `to`.
    fn walk(&mut self, end: u32, to: u32) -> bool {
        let mut ties = vec![(end, to)];
        let mut at = end;
        while self.from[at as usize][0] != NONE {
            let [before, to] = self.from[at as usize];
            if !self.cut(to, at) {
                return false;
            }
            ties.push((before, to));
            at = before;
        }
        ties.into_iter().all(|(a, b)| self.tie(a, b))
    }

    /// Numbers the rings; one node of each, and its size, smallest ring first.
    fn rings(&mut self) -> Vec<(usize, u32)> {
        self.ring.fill(NONE);
        let mut rings = Vec::new();
        for root in 0..self.link.len() as u32 {
            if self.ring[root as usize] == NONE {
                let number = rings.len() as u32;
                let size = self.number(root, number);
                rings.push((size, root));
            }
        }
        rings.sort_unstable();
        rings
    }

    /// Gives the whole ring of `root` a number; its size.
    fn number(&mut self, root: u32, number: u32) -> usize {
        let (mut before, mut at, mut size) = (self.link[root as usize][0], root, 0);
        loop {
            self.ring[at as usize] = number;
            size += 1;
            (before, at) = (at, self.next(before, at));
            if at == root {
                return size;
            }
        }
    }

    /// Merges all rings into one; false if that is not possible at no cost.
    fn merge(&mut self) -> bool {
        let rings = self.rings();
        let mut left = rings.len();
        if left > RINGS {
            return false;
        }
        // A ring may be within reach only once others have been merged.
        while left > 1 {
            let before = left;
            for &(_, root) in &rings[..rings.len() - 1] {
                if let Some([a, b, c, d]) = self.crossing(root) {
                    let number = self.ring[c as usize];
                    let merged =
                        self.cut(a, b) && self.cut(c, d) && self.tie(a, c) && self.tie(b, d);
                    assert!(merged, "two edges of different rings can be exchanged");
                    self.number(root, number);
                    left -= 1;
                    if left == 1 {
                        return true;
                    }
                }
            }
            if left == before {
                return false;
            }
        }
        true
    }

    /// An edge of the ring of `root` and one of another, to be exchanged for two tight ones.
    fn crossing(&mut self, root: u32) -> Option<[u32; 4]> {
        let number = self.ring[root as usize];
        let mut found = None;
        let mut count = 0;
        let (mut before, mut at) = (self.link[root as usize][0], root);
        loop {
            let next = self.next(before, at);
            for (a, b) in [(at, next), (next, at)] {
                for k in self.tight.range(a) {
                    let c = self.tight.to[k];
                    if self.ring[c as usize] == number {
                        continue;
                    }
                    for d in self.link[c as usize] {
                        if self.is_tight(b, d) {
                            count += 1;
                            if self.chance.below(count) == 0 {
                                found = Some([a, b, c, d]);
                            }
                        }
                    }
                }
            }
            (before, at) = (at, next);
            if at == root || count > 8 {
                return found;
            }
        }
    }
}
