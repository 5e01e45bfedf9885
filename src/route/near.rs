//! A k-d tree over the nodes, and the neighbours it finds.
//!
//! Bentley, "K-d trees for semidynamic point sets", 1990 (from memory). Every cost here grows with
//! |dx| and with |dy|, so the cost across the gap to a box bounds the cost to all within it.

use super::net::Net;

/// Nodes in one leaf.
const LEAF: usize = 6;

/// A box of the tree: the nodes `begin..end`, and its children at 2k+1 and 2k+2.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cell {
    pub low: [f64; 2],
    pub high: [f64; 2],
    pub begin: u32,
    pub end: u32,
}

/// A balanced tree over nodes that are numbered in its own leaf order.
#[derive(Clone, Debug)]
pub(super) struct Tree {
    pub cells: Vec<Cell>,
    /// Cells from this index on have no children.
    pub leaves: usize,
}

/// An order of the places in which every box of the tree is one run of indices.
pub(super) fn spatial_order(xy: &[[f64; 2]]) -> Vec<u32> {
    let mut ids: Vec<u32> = (0..xy.len() as u32).collect();
    split(xy, &mut ids, levels(xy.len()));
    ids
}

fn levels(n: usize) -> u32 {
    let mut levels = 0;
    while (n >> levels) > LEAF {
        levels += 1;
    }
    levels
}

fn split(xy: &[[f64; 2]], ids: &mut [u32], level: u32) {
    if level == 0 {
        ids.sort_unstable();
        return;
    }
    let (low, high) = extent(ids.iter().map(|&i| xy[i as usize]));
    let axis = usize::from(high[1] - low[1] > high[0] - low[0]);
    let middle = ids.len() / 2;
    ids.select_nth_unstable_by(middle, |&a, &b| {
        let (p, q) = (xy[a as usize], xy[b as usize]);
        p[axis].total_cmp(&q[axis]).then(p[1 - axis].total_cmp(&q[1 - axis])).then(a.cmp(&b))
    });
    let (left, right) = ids.split_at_mut(middle);
    split(xy, left, level - 1);
    split(xy, right, level - 1);
}

fn extent(points: impl Iterator<Item = [f64; 2]>) -> ([f64; 2], [f64; 2]) {
    let mut low = [f64::INFINITY; 2];
    let mut high = [f64::NEG_INFINITY; 2];
    for p in points {
        for axis in 0..2 {
            low[axis] = low[axis].min(p[axis]);
            high[axis] = high[axis].max(p[axis]);
        }
    }
    (low, high)
}

/// Which nodes a search may return.
#[derive(Clone, Copy, PartialEq)]
enum Side {
    All,
    /// One quarter of the plane round the node; bit 0 set: to the left, bit 1 set: below.
    Quarter(u8),
    /// The node's own group.
    Rank,
}

/// Which quarter round `p` holds `q`. The four meet at `p` and leave nothing out.
fn quarter(p: [f64; 2], q: [f64; 2]) -> u8 {
    let (dx, dy) = (q[0] - p[0], q[1] - p[1]);
    match (dx > 0.0, dy > 0.0, dx < 0.0, dy < 0.0) {
        (true, _, _, false) => 0,
        (false, true, _, _) => 1,
        (_, false, true, _) => 3,
        _ => 2,
    }
}

fn within(net: &Net, from: u32, to: u32, side: Side) -> bool {
    match side {
        Side::All => true,
        Side::Quarter(q) => q == quarter(net.xy[from as usize], net.xy[to as usize]),
        Side::Rank => net.rank[from as usize] == net.rank[to as usize],
    }
}

impl Tree {
    /// The tree over the first `n` nodes, already in [`spatial_order`].
    pub fn new(xy: &[[f64; 2]]) -> Tree {
        let levels = levels(xy.len());
        let leaves = (1usize << levels) - 1;
        let mut tree = Tree { cells: Vec::with_capacity(2 * leaves + 1), leaves };
        tree.cells.resize(
            2 * leaves + 1,
            Cell { low: [0.0; 2], high: [0.0; 2], begin: 0, end: xy.len() as u32 },
        );
        for k in 0..tree.cells.len() {
            let Cell { begin, end, .. } = tree.cells[k];
            let (low, high) = extent(xy[begin as usize..end as usize].iter().copied());
            tree.cells[k] = Cell { low, high, begin, end };
            if k < leaves {
                let middle = begin + (end - begin) / 2;
                tree.cells[2 * k + 1].begin = begin;
                tree.cells[2 * k + 1].end = middle;
                tree.cells[2 * k + 2].begin = middle;
                tree.cells[2 * k + 2].end = end;
            }
        }
        tree
    }

    /// The least cost from `p` to anything in cell `k`. One unit is taken off, because rounding
    /// within the cost of a gap may differ from rounding within the cost of a move.
    #[inline]
    pub fn gap(&self, net: &Net, p: [f64; 2], k: usize) -> i64 {
        let cell = &self.cells[k];
        let dx = (cell.low[0] - p[0]).max(p[0] - cell.high[0]).max(0.0);
        let dy = (cell.low[1] - p[1]).max(p[1] - cell.high[1]).max(0.0);
        net.span(dx, dy) - 1
    }

    /// The leaf that holds a node.
    fn leaf(&self, node: u32) -> usize {
        let mut at = 0;
        while at < self.leaves {
            at = 2 * at + 1 + usize::from(node >= self.cells[2 * at + 2].begin);
        }
        at
    }

    fn nearest(&self, net: &Net, from: u32, side: Side, k: usize, found: &mut Vec<(i64, u32)>) {
        found.clear();
        // From the node's own leaf upwards: what is found there rules out most of the rest.
        let mut at = self.leaf(from);
        self.descend(net, from, side, k, at, found);
        let p = net.xy[from as usize];
        while at > 0 {
            let other = if at % 2 == 1 { at + 1 } else { at - 1 };
            let full = found.len() == k;
            if self.may_hold(p, side, other) && !(full && self.gap(net, p, other) > found[k - 1].0)
            {
                self.descend(net, from, side, k, other, found);
            }
            at = (at - 1) / 2;
        }
    }

    fn descend(
        &self,
        net: &Net,
        from: u32,
        side: Side,
        k: usize,
        at: usize,
        found: &mut Vec<(i64, u32)>,
    ) {
        let p = net.xy[from as usize];
        if at >= self.leaves {
            let cell = self.cells[at];
            for to in cell.begin..cell.end {
                let q = net.xy[to as usize];
                if to == from || !within(net, from, to, side) {
                    continue;
                }
                let entry = (net.span((p[0] - q[0]).abs(), (p[1] - q[1]).abs()), to);
                if found.len() == k {
                    if entry >= found[k - 1] {
                        continue;
                    }
                    found.pop();
                }
                let place = found.partition_point(|e| *e < entry);
                found.insert(place, entry);
            }
            return;
        }
        let (left, right) = (2 * at + 1, 2 * at + 2);
        let gaps = [self.gap(net, p, left), self.gap(net, p, right)];
        let order = if gaps[0] <= gaps[1] {
            [(gaps[0], left), (gaps[1], right)]
        } else {
            [(gaps[1], right), (gaps[0], left)]
        };
        for (gap, child) in order {
            let full = found.len() == k;
            if (full && gap > found[k - 1].0) || !self.may_hold(p, side, child) {
                continue;
            }
            self.descend(net, from, side, k, child, found);
        }
    }

    fn may_hold(&self, p: [f64; 2], side: Side, k: usize) -> bool {
        let cell = &self.cells[k];
        match side {
            Side::All | Side::Rank => true,
            Side::Quarter(0) => cell.high[0] > p[0] && cell.high[1] >= p[1],
            Side::Quarter(1) => cell.low[0] <= p[0] && cell.high[1] > p[1],
            Side::Quarter(3) => cell.low[0] < p[0] && cell.low[1] <= p[1],
            Side::Quarter(_) => cell.high[0] >= p[0] && cell.low[1] < p[1],
        }
    }
}

/// Neighbours of every node, each list sorted by cost; lists lie one after the other.
#[derive(Clone, Debug, Default)]
pub(super) struct Lists {
    pub start: Vec<u32>,
    pub to: Vec<u32>,
    pub cost: Vec<i64>,
}

impl Lists {
    pub fn push(&mut self, list: &[(i64, u32)]) {
        if self.start.is_empty() {
            self.start.push(0);
        }
        for &(cost, to) in list {
            self.to.push(to);
            self.cost.push(cost);
        }
        self.start.push(self.to.len() as u32);
    }

    #[inline]
    pub fn range(&self, node: u32) -> std::ops::Range<usize> {
        self.start[node as usize] as usize..self.start[node as usize + 1] as usize
    }
}

/// For the first `n` nodes: the `k` nearest, and of those that the tree holds the nearest of every
/// quarter of the plane, so that clusters stay linked. The second value is how far the list is
/// complete: nothing outside it is cheaper, but for wide nodes.
pub(super) fn neighbours(net: &Net, tree: &Tree, n: usize, k: usize) -> (Lists, Vec<i64>) {
    let mut lists = Lists::default();
    let mut reach = Vec::with_capacity(n);
    let mut found = Vec::new();
    let mut one = Vec::new();
    let held = tree.cells[0].end;
    for node in 0..n as u32 {
        if node >= held {
            found.clear();
            let others = (0..n as u32).filter(|&to| to != node);
            found.extend(others.map(|to| (net.cost(node, to), to)));
            found.sort_unstable();
            found.truncate(k);
            lists.push(&found);
            reach.push(i64::MAX);
            continue;
        }
        tree.nearest(net, node, Side::All, k, &mut found);
        reach.push(if found.len() < k { i64::MAX } else { found[found.len() - 1].0 });
        let p = net.xy[node as usize];
        let mut seen = [false; 4];
        for &(_, to) in &found {
            seen[quarter(p, net.xy[to as usize]) as usize] = true;
        }
        for side in 0..4 {
            if !seen[side as usize] && found.len() >= k {
                tree.nearest(net, node, Side::Quarter(side), 1, &mut one);
                found.extend_from_slice(&one);
            }
        }
        if !net.rank.is_empty() {
            tree.nearest(net, node, Side::Rank, k, &mut one);
            found.extend_from_slice(&one);
            found.sort_unstable();
            found.dedup();
        }
        for entry in &mut found {
            entry.0 = net.cost(node, entry.1);
        }
        found.sort_unstable();
        lists.push(&found);
    }
    (lists, reach)
}
