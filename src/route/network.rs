//! Strokes as a graph of shared ends, made even and connected by pen-up links, and walked.

use super::greedy::Sets;
use super::matching::{MOST, cheapest};
use super::net::Net;

/// What joins two vertices.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Link {
    /// A stroke, from this node of the net to its mate.
    Drawn(u32),
    /// A move with the pen up.
    PenUp,
}

/// A multigraph whose vertices are spots; every node of the net stands on one.
pub(super) struct Network<'a> {
    net: &'a Net,
    /// One node of each vertex, by which it is measured.
    node: Vec<u32>,
    /// Loops to draw at each vertex, as nodes.
    loops: Vec<Vec<u32>>,
    /// The park place or the free end.
    special: Option<usize>,
    links: Vec<(usize, usize, Link)>,
}

impl<'a> Network<'a> {
    /// The graph of the first `tips` nodes of a net of strokes, and its special node if it has one.
    pub fn new(net: &'a Net, tips: usize) -> Self {
        let mut by_spot: Vec<u32> = (0..tips as u32).collect();
        let key = |a: u32| net.xy[a as usize].map(|c| c + 0.0);
        by_spot.sort_unstable_by(|&a, &b| {
            let (p, q) = (key(a), key(b));
            p[0].total_cmp(&q[0]).then(p[1].total_cmp(&q[1])).then(a.cmp(&b))
        });
        let mut vertex = vec![0; tips];
        let mut node: Vec<u32> = Vec::new();
        for &a in &by_spot {
            if node.last().is_none_or(|&b| key(a) != key(b)) {
                node.push(a);
            }
            vertex[a as usize] = node.len() - 1;
        }
        let special = (net.len() > tips).then(|| {
            node.push(tips as u32);
            node.len() - 1
        });
        let mut network =
            Network { net, loops: vec![Vec::new(); node.len()], node, special, links: Vec::new() };
        for a in 0..tips as u32 {
            let mate = net.mate[a as usize];
            if mate as usize >= tips {
                network.loops[vertex[a as usize]].push(a);
            } else if a < mate {
                network.link(vertex[a as usize], vertex[mate as usize], Link::Drawn(a));
            }
        }
        network
    }

    fn link(&mut self, a: usize, b: usize, link: Link) {
        self.links.push((a, b, link));
    }

    fn cost(&self, a: usize, b: usize) -> i64 {
        self.net.cost(self.node[a], self.node[b])
    }

    /// The least cost from `a` to any other vertex.
    fn nearest(&self, a: usize) -> i64 {
        (0..self.node.len()).filter(|&b| b != a).map(|b| self.cost(a, b)).min().unwrap_or(0)
    }

    /// Vertices with an odd number of links, and park or the free end twice: the way begins and ends there.
    fn odd(&self) -> Vec<usize> {
        let mut odd = vec![false; self.node.len()];
        for &(a, b, _) in &self.links {
            odd[a] ^= true;
            odd[b] ^= true;
        }
        let twice = self.special.into_iter().flat_map(|s| [s, s]);
        (0..odd.len()).filter(|&a| odd[a]).chain(twice).collect()
    }

    /// What pairing the odd vertices must cost, where they are few enough to know: no order costs less.
    pub fn least(&self) -> Option<i64> {
        self.cheapest_pairs(&self.odd()).map(|(_, cost)| cost)
    }

    /// Pairs the odd vertices by moves with the pen up, as cheaply as is known; what that costs where
    /// it is the least.
    pub fn pair(&mut self) -> Option<i64> {
        let odd = self.odd();
        let Some((pairs, cost)) = self.cheapest_pairs(&odd) else {
            self.pair_greedily(&odd);
            return None;
        };
        for (a, b) in pairs {
            if a != b {
                self.link(a, b, Link::PenUp);
            }
        }
        Some(cost)
    }

    /// Park paired with itself stands for a way there and back.
    fn cheapest_pairs(&self, odd: &[usize]) -> Option<(Vec<(usize, usize)>, i64)> {
        if odd.len() > MOST {
            return None;
        }
        let there_and_back = self.special.map_or(0, |s| 2 * self.nearest(s));
        let cost = |i: usize, j: usize| match odd[i] == odd[j] {
            true => there_and_back,
            false => self.cost(odd[i], odd[j]),
        };
        let partner = cheapest(odd.len(), cost);
        let pairs = (0..odd.len()).filter(|&i| i < partner[i]).map(|i| (i, partner[i]));
        let sum = pairs.clone().map(|(i, j)| cost(i, j)).sum();
        Some((pairs.map(|(i, j)| (odd[i], odd[j])).collect(), sum))
    }

    /// Pairs vertices each with the nearest one left, in the order given.
    fn pair_greedily(&mut self, odd: &[usize]) {
        let mut left: Vec<usize> = odd.to_vec();
        while let Some(a) = left.pop() {
            let Some(at) = (0..left.len()).min_by_key(|&i| (self.cost(a, left[i]), i)) else {
                break;
            };
            let b = left.remove(at);
            if a != b {
                self.link(a, b, Link::PenUp);
            }
        }
    }

    /// Joins the pieces by doubled links, each time the nearest piece to those already joined.
    pub fn connect(&mut self) {
        let n = self.node.len();
        let mut sets = Sets::new(n);
        for &(a, b, _) in &self.links {
            sets.join(a as u32, b as u32);
        }
        // Prim over pieces: for every vertex outside, the nearest vertex inside.
        let mut nearest = vec![(i64::MAX, 0); n];
        let mut inside = vec![false; n];
        let mut fresh: Vec<usize> = Vec::new();
        let piece: Vec<u32> = (0..n as u32).map(|a| sets.find(a)).collect();
        let mut members: Vec<Vec<usize>> = vec![Vec::new(); n];
        for (a, &p) in piece.iter().enumerate() {
            members[p as usize].push(a);
        }
        let mut add = (n > 0).then_some(0);
        while let Some(a) = add {
            fresh.clear();
            fresh.extend(&members[piece[a] as usize]);
            for &a in &fresh {
                inside[a] = true;
            }
            // A free end is near everything, but the pieces must not all hang on it.
            fresh.retain(|&a| !self.net.xy[self.node[a] as usize][0].is_nan());
            for b in 0..n {
                if !inside[b] {
                    for &a in &fresh {
                        nearest[b] = nearest[b].min((self.cost(a, b), a));
                    }
                }
            }
            add = (0..n).filter(|&b| !inside[b]).min_by_key(|&b| (nearest[b].0, b));
            if let Some(b) = add {
                self.link(nearest[b].1, b, Link::PenUp);
                self.link(nearest[b].1, b, Link::PenUp);
            }
        }
    }

    /// An Euler circuit (Hierholzer 1873, from memory) as a tour of the net: each stroke's nodes in
    /// the direction it is walked, each loop where its vertex is first met.
    pub fn circuit(&self) -> Vec<u32> {
        let n = self.node.len();
        let mut at: Vec<Vec<usize>> = vec![Vec::new(); n];
        for (i, &(a, b, _)) in self.links.iter().enumerate() {
            at[a].push(i);
            at[b].push(i);
        }
        let mut used = vec![false; self.links.len()];
        let mut tour = Vec::with_capacity(self.net.len());
        let Some(root) = self.special.or((n > 0).then_some(0)) else { return tour };
        let mut stack = vec![(root, usize::MAX)];
        let mut walk = Vec::with_capacity(self.links.len() + 1);
        while let Some(&(a, by)) = stack.last() {
            if let Some(i) = at[a].pop() {
                if !used[i] {
                    used[i] = true;
                    let (p, q, _) = self.links[i];
                    stack.push((if p == a { q } else { p }, i));
                }
            } else {
                walk.push((a, by));
                stack.pop();
            }
        }
        // The walk is read from its end: each entry is a vertex and the link that led to it.
        let mut met = vec![false; n];
        for (i, &(vertex, by)) in walk.iter().enumerate() {
            if !met[vertex] {
                met[vertex] = true;
                if Some(vertex) == self.special {
                    tour.push(self.node[vertex]);
                }
                tour.extend(&self.loops[vertex]);
            }
            if by != usize::MAX
                && let Link::Drawn(a) = self.links[by].2
            {
                // Leaving `vertex` backwards along `by`, to the next vertex of the walk.
                let mate = self.net.mate[a as usize];
                let next = walk.get(i + 1).map_or(vertex, |w| w.0);
                let forward = self.links[by].0 == vertex && self.links[by].1 == next;
                tour.extend(if forward { [a, mate] } else { [mate, a] });
            }
        }
        tour
    }
}
