//! Minimum spanning trees: exact among all pairs, and fast among few.
//!
//! Borůvka's rounds, with a k-d tree to rule out all pairs that are not listed (March, Ram and
//! Gray, "Fast Euclidean minimum spanning tree", 2010); Kruskal's for the few (all from memory).

use super::greedy::Sets;
use super::near::{Lists, Tree};
use super::net::{NONE, Net};

/// A spanning tree of the nodes before the last, and its weight with the prices of its ends.
pub(super) struct Spanning {
    pub edges: Vec<(u32, u32)>,
    pub weight: i64,
}

/// The cheapest way out of one component.
#[derive(Clone, Copy)]
struct Exit {
    weight: i64,
    from: u32,
    to: u32,
}

/// What a search for the way out of a component needs to know of the tree.
struct Round<'a> {
    net: &'a Net,
    tree: &'a Tree,
    price: &'a [i64],
    /// Component of every node, and of every cell that lies within one, else [`NONE`].
    part: Vec<u32>,
    cell_part: Vec<u32>,
    cell_price: Vec<i64>,
}

/// The exact minimum spanning tree over all pairs of the nodes before the last, an edge weighing
/// its cost and the prices of its ends. Strokes are in it by force.
///
/// `lists` proposes edges; `reach` is the cost below which a node's list leaves out nothing.
pub(super) fn exact(
    net: &Net,
    tree: &Tree,
    lists: &Lists,
    reach: &[i64],
    price: &[i64],
) -> Spanning {
    let n = net.len() - 1;
    let weigh = |a: u32, b: u32| net.cost(a, b) + price[a as usize] + price[b as usize];
    let mut sets = Sets::new(n);
    let mut out = Spanning { edges: Vec::with_capacity(n), weight: 0 };
    for (a, &b) in net.mate.iter().enumerate() {
        if b != NONE && (a as u32) < b && (b as usize) < n {
            sets.join(a as u32, b);
            out.edges.push((a as u32, b));
            out.weight += weigh(a as u32, b);
        }
    }
    let lowest = price[..n].iter().copied().min().unwrap_or(0);
    // Nothing unlisted leaves a node's component for less than this.
    let mut floor: Vec<i64> = (0..n).map(|i| reach[i].saturating_add(price[i] + lowest)).collect();
    let mut listed: Vec<Exit> = Vec::with_capacity(lists.to.len());
    for from in 0..n as u32 {
        for at in lists.range(from) {
            let to = lists.to[at];
            if (to as usize) < n {
                listed.push(Exit { weight: weigh(from, to), from, to });
            }
        }
    }
    // Wide nodes are in no tree, so nothing of theirs is left out.
    for from in net.narrow() as u32..n as u32 {
        let others = (0..n as u32).filter(|&to| to != from);
        listed.extend(others.map(|to| Exit { weight: weigh(from, to), from, to }));
    }
    let mut round = Round {
        net,
        tree,
        price,
        part: vec![0; n],
        cell_part: vec![NONE; tree.cells.len()],
        cell_price: vec![0; tree.cells.len()],
    };
    round.fill_prices();
    let unset = Exit { weight: i64::MAX, from: NONE, to: NONE };
    let mut best = vec![unset; n];
    while out.edges.len() + 1 < n {
        for i in 0..n as u32 {
            round.part[i as usize] = sets.find(i);
        }
        round.fill_parts();
        best.fill(unset);
        listed.retain(|e| {
            let (p, q) = (round.part[e.from as usize], round.part[e.to as usize]);
            if p == q {
                return false;
            }
            for part in [p, q] {
                if e.weight < best[part as usize].weight {
                    best[part as usize] = *e;
                }
            }
            true
        });
        for i in 0..n {
            let exit = &mut best[round.part[i] as usize];
            if floor[i] < exit.weight {
                let limit = exit.weight;
                round.leave(i as u32, reach[i], 0, exit);
                // Found at this weight, or nothing below the limit: true from now on as well.
                floor[i] = if exit.weight < limit { exit.weight } else { limit };
            }
        }
        for exit in best.iter().filter(|e| e.from != NONE) {
            // Equal weights may close a ring; dropping any one edge of it loses nothing.
            if sets.join(exit.from, exit.to) {
                out.edges.push((exit.from, exit.to));
                out.weight += exit.weight;
            }
        }
    }
    out
}

impl Round<'_> {
    fn fill_prices(&mut self) {
        for k in (0..self.tree.cells.len()).rev() {
            let cell = &self.tree.cells[k];
            self.cell_price[k] = if k >= self.tree.leaves {
                let run = &self.price[cell.begin as usize..cell.end as usize];
                run.iter().copied().min().unwrap_or(0)
            } else {
                self.cell_price[2 * k + 1].min(self.cell_price[2 * k + 2])
            };
        }
    }

    fn fill_parts(&mut self) {
        for k in (0..self.tree.cells.len()).rev() {
            let cell = &self.tree.cells[k];
            self.cell_part[k] = if k >= self.tree.leaves {
                let run = &self.part[cell.begin as usize..cell.end as usize];
                match run {
                    [first, others @ ..] if others.iter().all(|p| p == first) => *first,
                    _ => NONE,
                }
            } else if self.cell_part[2 * k + 1] == self.cell_part[2 * k + 2] {
                self.cell_part[2 * k + 1]
            } else {
                NONE
            };
        }
    }

    /// Looks for a lighter edge from `from` out of its component, among all within cell `k`. Where nothing unlisted within
    /// it can be lighter, given that it costs at least `reach`, it is passed by.
    fn leave(&self, from: u32, reach: i64, k: usize, exit: &mut Exit) {
        let own = self.part[from as usize];
        let price = self.price[from as usize];
        let p = self.net.xy[from as usize];
        if k >= self.tree.leaves {
            let cell = &self.tree.cells[k];
            for to in cell.begin..cell.end {
                if self.part[to as usize] != own {
                    let weight = self.net.cost(from, to) + price + self.price[to as usize];
                    if weight < exit.weight {
                        *exit = Exit { weight, from, to };
                    }
                }
            }
            return;
        }
        let mut next = [(0, 2 * k + 1), (0, 2 * k + 2)];
        for child in &mut next {
            child.0 = if self.cell_part[child.1] == own {
                i64::MAX
            } else {
                self.tree.gap(self.net, p, child.1).max(reach) + price + self.cell_price[child.1]
            };
        }
        if next[1].0 < next[0].0 {
            next.swap(0, 1);
        }
        for (least, child) in next {
            if least < exit.weight {
                self.leave(from, reach, child, exit);
            }
        }
    }
}

/// A few edges among the nodes before the last, each once.
#[derive(Clone, Debug, Default)]
pub(super) struct Sparse {
    pub ends: Vec<(u32, u32)>,
    pub cost: Vec<i64>,
    /// Scratch: edges by weight, coarsely.
    order: Vec<(u32, u32)>,
    turn: usize,
    spare: Vec<(u32, u32)>,
}

impl Sparse {
    pub fn new(net: &Net, lists: &Lists) -> Sparse {
        let n = net.len() as u32 - 1;
        let mut ends = Vec::with_capacity(lists.to.len());
        for a in 0..n {
            for at in lists.range(a) {
                let b = lists.to[at];
                if b < n && !net.fixed(a, b) {
                    ends.push((a.min(b), a.max(b)));
                }
            }
        }
        let mut sparse = Sparse::default();
        sparse.add(net, ends);
        sparse
    }

    /// Adds edges; those it has already are kept once.
    pub fn add(&mut self, net: &Net, more: Vec<(u32, u32)>) {
        self.ends.extend(more);
        self.ends.sort_unstable();
        self.ends.dedup();
        self.cost = self.ends.iter().map(|&(a, b)| net.cost(a, b)).collect();
    }

    /// Kruskal's tree under `price`, its edges given to `take` as indices, lightest first. Weights
    /// are compared in 2^-22 of their range, so the tree may be a trace above the lightest.
    pub fn tree(&mut self, net: &Net, price: &[i64], mut take: impl FnMut(usize)) {
        let n = net.len() - 1;
        let weigh = |e: usize| {
            let (a, b) = self.ends[e];
            self.cost[e] + price[a as usize] + price[b as usize]
        };
        let (mut low, mut high) = (i64::MAX, i64::MIN);
        for e in 0..self.ends.len() {
            let w = weigh(e);
            low = low.min(w);
            high = high.max(w);
        }
        let mut shift = 0;
        while high.saturating_sub(low) >> shift >= 1 << 22 {
            shift += 1;
        }
        // Edges of one weight are met in another order every time, so that an ascent that averages
        // trees averages over the ties of a grid as well.
        self.order.clear();
        self.turn += 1;
        let total = self.ends.len();
        let first = self.turn * 7919 % total;
        for step in 0..total {
            let e = if self.turn.is_multiple_of(2) { first + step } else { first + total - step };
            let e = if e >= total { e - total } else { e };
            self.order.push((((weigh(e) - low) >> shift) as u32, e as u32));
        }
        sort_22(&mut self.order, &mut self.spare);
        let mut sets = Sets::new(n);
        let mut left = n - 1;
        for (a, &b) in net.mate.iter().enumerate() {
            if b != NONE && (a as u32) < b && (b as usize) < n && sets.join(a as u32, b) {
                left -= 1;
            }
        }
        for &(_, e) in &self.order {
            let (a, b) = self.ends[e as usize];
            if sets.join(a, b) {
                take(e as usize);
                left -= 1;
                if left == 0 {
                    break;
                }
            }
        }
    }
}

/// Sorts by a key below 2^22, in two passes that keep the order of equals.
fn sort_22(items: &mut Vec<(u32, u32)>, spare: &mut Vec<(u32, u32)>) {
    if items.len() < 256 {
        items.sort_unstable();
        return;
    }
    spare.resize(items.len(), (0, 0));
    for shift in [0, 11] {
        let mut begin = [0u32; 2049];
        for item in items.iter() {
            begin[((item.0 >> shift) & 2047) as usize + 1] += 1;
        }
        for i in 1..2049 {
            begin[i] += begin[i - 1];
        }
        for item in items.iter() {
            let slot = &mut begin[((item.0 >> shift) & 2047) as usize];
            spare[*slot as usize] = *item;
            *slot += 1;
        }
        std::mem::swap(items, spare);
    }
}
