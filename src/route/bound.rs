//! The lower bound: Held and Karp's ascent over 1-trees, closed by one exact spanning tree.
//!
//! A price on every node shifts all tours alike, so the lightest 1-tree under any prices, less
//! twice their sum, is a bound. Prices rise where a 1-tree has more than two edges and fall where
//! it has one (Held and Karp 1971; the step is Polyak's, the memory of the last one Volgenant and
//! Jonker's 1982; nearness alpha is Helsgaun's 2000; all from memory). The ascent runs on few
//! edges, where its value proves nothing: what counts is the exact tree over all pairs at its end.

use super::near::{Lists, Tree};
use super::net::{NONE, Net};
use super::spanning::{Sparse, exact};

/// A climb of no more steps is in haste: its strides shrink from the first, and each forgets most
/// of the last course. A longer one remembers more, so that the ties of a grid average out, and
/// shrinks its strides when they stop paying.
const SHORT: usize = 100;

/// A climb that has lost so many times what is to be won goes back, before it is lost in the far.
const LOST: i64 = 20;

/// What strides that pay no more shrink to, and those that never did.
const SHRINK: f64 = 0.6;
const SHRINK_IN_VAIN: f64 = 0.2;

/// Below this share of the first stride a climb is over.
const SMALLEST: f64 = 0.005;

/// Rounds of lowering leaves at most: each leaves fewer, and most lattices have none after one.
const ROUNDS_OF_LEAVES: usize = 20;

/// Half of the edges of the last node that may be tight.
const FEW_AT_PARK: usize = 6;

/// Largest price, either way: eight times the largest cost, and no sum of a million overflows.
const HIGHEST: i64 = 1 << 39;

/// A bound under construction.
pub(super) struct Bound<'a> {
    pub net: &'a Net,
    tree: &'a Tree,
    lists: &'a Lists,
    reach: &'a [i64],
    sparse: Sparse,
    /// Best prices so far by the few edges.
    pub price: Vec<i64>,
    pub value: i64,
    /// Whether the places form a lattice whose colours the prices know.
    pub lattice: bool,
    /// Whether they stand in rows, whose places are nearer to each other than to other rows.
    pub rows: bool,
    /// Whether nine places of ten have the same way to the nearest other.
    pub regular: bool,
    /// The proven bound.
    pub proven: i64,
}

/// The two cheapest edges at the last node.
struct Joint {
    ends: [u32; 2],
    weight: [i64; 2],
}

/// Places joined by steps of one length, and their colours, 1 and -1 in turn; mixed where short
/// steps join two of one colour.
struct Patch {
    nodes: Vec<u32>,
    colours: Vec<i8>,
    mixed: bool,
}

/// Whether two costs differ by no more than rounding.
fn alike(a: i64, b: i64) -> bool {
    (a - b).abs() <= b / 100_000 + 2
}

fn joint(net: &Net, price: &[i64]) -> Joint {
    let special = net.len() as u32 - 1;
    let mut joint = Joint { ends: [NONE; 2], weight: [i64::MAX; 2] };
    let mate = net.mate.get(special as usize).copied().unwrap_or(NONE);
    let mut forced = None;
    for b in 0..special {
        let weight = net.cost(special, b) + price[b as usize];
        if b == mate {
            forced = Some((b, weight));
        } else if weight < joint.weight[0] {
            joint = Joint { ends: [b, joint.ends[0]], weight: [weight, joint.weight[0]] };
        } else if weight < joint.weight[1] {
            joint.ends[1] = b;
            joint.weight[1] = weight;
        }
    }
    if let Some((b, weight)) = forced {
        joint = Joint { ends: [joint.ends[0], b], weight: [joint.weight[0], weight] };
    }
    joint
}

impl<'a> Bound<'a> {
    pub fn new(net: &'a Net, tree: &'a Tree, lists: &'a Lists, reach: &'a [i64]) -> Self {
        let n = net.len();
        let mut sparse = Sparse::new(net, lists);
        let zero = vec![0; n];
        sparse.add(net, exact(net, tree, lists, reach, &zero).edges);
        let mut bound = Bound {
            net,
            tree,
            lists,
            reach,
            sparse,
            price: zero,
            value: i64::MIN,
            lattice: false,
            rows: false,
            regular: false,
            proven: 0,
        };
        bound.value = bound.one_tree(&bound.price.clone(), &mut vec![0; n]);
        let nearest = bound.nearest();
        let Some(&short) = nearest.get(n / 2) else {
            return bound;
        };
        bound.regular = nearest.iter().filter(|&&c| alike(c, short)).count() > n / 10 * 9;
        if let Some((price, lattice, rows)) = bound.by_patches(short) {
            let value = bound.one_tree(&price, &mut vec![0; n]);
            bound.lattice = lattice;
            bound.rows = rows;
            if value > bound.value {
                bound.value = value;
                bound.price = price;
            }
        }
        bound
    }

    /// The value of the lightest 1-tree among the few edges, and its degrees.
    fn one_tree(&mut self, price: &[i64], degree: &mut [i32]) -> i64 {
        let n = self.net.len() - 1;
        degree.fill(0);
        let mut weight = 0;
        for (a, &b) in self.net.mate.iter().enumerate() {
            if b != NONE && (a as u32) < b && (b as usize) < n {
                degree[a] += 1;
                degree[b as usize] += 1;
                weight += self.net.cost(a as u32, b) + price[a] + price[b as usize];
            }
        }
        let mut taken = Vec::with_capacity(n);
        self.sparse.tree(self.net, price, |e| taken.push(e));
        for e in taken {
            let (a, b) = self.sparse.ends[e];
            degree[a as usize] += 1;
            degree[b as usize] += 1;
            weight += self.sparse.cost[e] + price[a as usize] + price[b as usize];
        }
        let joint = joint(self.net, price);
        for (end, w) in joint.ends.into_iter().zip(joint.weight) {
            degree[end as usize] += 1;
            weight += w;
        }
        weight - 2 * price[..n].iter().sum::<i64>()
    }

    /// Climbs for `rounds` steps towards `target`, the length of a known tour.
    pub fn climb(&mut self, rounds: usize, target: i64, mut stride: f64) {
        let n = self.net.len() - 1;
        let mut price = self.price.clone();
        let mut degree = vec![0; n + 1];
        let mut course = vec![0.0; n];
        let (memory, decay) = if rounds <= SHORT { (0.3, 0.93) } else { (0.45, 1.0) };
        let patience = (rounds / 12).clamp(8, 100);
        let mut since = 0;
        let mut won = false;
        for _ in 0..rounds {
            let value = self.one_tree(&price, &mut degree);
            since += 1;
            if value > self.value {
                if value - self.value > (target - self.value) / 200 {
                    since = 0;
                }
                won = true;
                self.value = value;
                self.price.copy_from_slice(&price);
            }
            if self.value >= target || degree[..n].iter().all(|&d| d == 2) {
                break;
            }
            // One step alone may stray.
            let lost = value < self.value - LOST * (target - self.value);
            if since >= patience || (lost && since > 1) {
                since = 0;
                stride *= if won { SHRINK } else { SHRINK_IN_VAIN };
                won = false;
                if stride < SMALLEST {
                    break;
                }
                price.copy_from_slice(&self.price);
            }
            let mut square = 0.0;
            for (course, &degree) in course.iter_mut().zip(&degree) {
                *course = (1.0 - memory) * f64::from(degree - 2) + memory * *course;
                square += *course * *course;
            }
            if square == 0.0 {
                break;
            }
            stride *= decay;
            let step = stride * (target - value) as f64 / square;
            for (price, course) in price.iter_mut().zip(&course) {
                let change = step * course;
                let moved = *price + (change + if change < 0.0 { -0.5 } else { 0.5 }) as i64;
                *price = moved.clamp(-HIGHEST, HIGHEST);
            }
        }
    }

    /// Lowers the price of every node that is a leaf of each lightest tree, until a second edge of
    /// its own is as light: the value rises by as much. The corners of a lattice are such, and few
    /// among so many that a climb loses them in the ties of the others.
    pub fn lower_leaves(&mut self) {
        let n = self.net.len() - 1;
        let slack = self.slack();
        for _ in 0..ROUNDS_OF_LEAVES {
            let mut price = self.price.clone();
            for (price, near) in price[..n].iter_mut().zip(self.by_alpha(FEW_AT_PARK)) {
                // The first is the edge of the leaf itself.
                let alpha = near.get(1).map_or(0, |e| e.0);
                if alpha > slack {
                    *price = (*price - alpha).max(-HIGHEST);
                }
            }
            let value = self.one_tree(&price, &mut vec![0; n + 1]);
            if value <= self.value {
                break;
            }
            self.value = value;
            self.price = price;
        }
    }

    /// Proves what the best prices are worth; the exact tree's edges join the few. True when the
    /// few had promised more than could be proven.
    pub fn prove(&mut self) -> bool {
        let n = self.net.len() - 1;
        let spanning = exact(self.net, self.tree, self.lists, self.reach, &self.price);
        let joint = joint(self.net, &self.price);
        let value = spanning.weight + joint.weight[0] + joint.weight[1]
            - 2 * self.price[..n].iter().sum::<i64>();
        self.proven = self.proven.max(value);
        let short = value < self.value - (self.value >> 16);
        if short {
            self.sparse.add(self.net, spanning.edges);
        }
        self.value = value;
        short
    }

    /// What each place is from the nearest other, least first.
    fn nearest(&self) -> Vec<i64> {
        let mut nearest = vec![i64::MAX; self.net.len() - 1];
        for (&(a, b), &c) in self.sparse.ends.iter().zip(&self.sparse.cost) {
            for end in [a, b] {
                nearest[end as usize] = nearest[end as usize].min(c);
            }
        }
        nearest.sort_unstable();
        nearest
    }

    /// Prices to start from where places stand in patches joined by steps of length `short`;
    /// whether one patch is most of them, a lattice; and whether they are rows. `None` where no
    /// longer step would be of use.
    fn by_patches(&self, short: i64) -> Option<(Vec<i64>, bool, bool)> {
        let n = self.net.len() - 1;
        let patches = self.patches(short);
        let largest = patches.iter().map(|p| p.nodes.len()).max().unwrap_or(0);
        let lattice = largest > n / 4 * 3;
        let rows = !lattice && patches.len() < n / 3;
        let price =
            if rows { self.by_rows(&patches, short) } else { self.by_colour(&patches, short)? };
        Some((price, lattice, rows))
    }

    /// The places in patches: any two of one are joined by steps of cost `short`.
    fn patches(&self, short: i64) -> Vec<Patch> {
        let n = self.net.len() - 1;
        let mut steps = vec![Vec::new(); n];
        for (&(a, b), &c) in self.sparse.ends.iter().zip(&self.sparse.cost) {
            if alike(c, short) {
                steps[a as usize].push(b);
                steps[b as usize].push(a);
            }
        }
        let mut colour = vec![0i8; n];
        let mut patches = Vec::new();
        for root in 0..n {
            if colour[root] != 0 {
                continue;
            }
            colour[root] = 1;
            let mut patch = Patch { nodes: vec![root as u32], colours: vec![1], mixed: false };
            let mut at = 0;
            while at < patch.nodes.len() {
                let a = patch.nodes[at] as usize;
                at += 1;
                for &b in &steps[a] {
                    let other = &mut colour[b as usize];
                    patch.mixed |= *other == patch.colours[at - 1];
                    if *other == 0 {
                        *other = -patch.colours[at - 1];
                        patch.nodes.push(b);
                        patch.colours.push(*other);
                    }
                }
            }
            patches.push(patch);
        }
        patches
    }

    /// Where short steps lead from one colour to the other and one colour has more places, the
    /// surplus must be crossed by the next longer step: both colours are priced by half of what
    /// that costs more.
    fn by_colour(&self, patches: &[Patch], short: i64) -> Option<Vec<i64>> {
        let mut price = vec![0; self.net.len()];
        let mut colour = vec![0i8; self.net.len()];
        for patch in patches {
            for (&a, &c) in patch.nodes.iter().zip(&patch.colours) {
                colour[a as usize] = c;
            }
        }
        let edges = self.sparse.ends.iter().zip(&self.sparse.cost);
        let longer = edges.filter(|&(&(a, b), &c)| {
            colour[a as usize] == colour[b as usize] && c > short && !alike(c, short)
        });
        let half = (longer.map(|e| *e.1).min()? - short) / 2;
        for patch in patches.iter().filter(|p| p.nodes.len() > 1 && !p.mixed) {
            let surplus: i64 = patch.colours.iter().map(|&c| i64::from(c)).sum();
            for (&a, &c) in patch.nodes.iter().zip(&patch.colours) {
                price[a as usize] = -half * i64::from(c) * surplus.signum();
            }
        }
        Some(price)
    }

    /// Where short steps make rows, a tour leaves and enters the rows beyond any gap at least
    /// twice: every gap further from the last node is one more price of what that costs more.
    fn by_rows(&self, patches: &[Patch], short: i64) -> Vec<i64> {
        let n = self.net.len() - 1;
        let mut row = vec![0; n];
        for (i, patch) in patches.iter().enumerate() {
            for &a in &patch.nodes {
                row[a as usize] = i;
            }
        }
        let rows = |e: usize| {
            let (a, b) = self.sparse.ends[e];
            (row[a as usize], row[b as usize])
        };
        let gaps = (0..self.sparse.ends.len()).filter(|&e| rows(e).0 != rows(e).1);
        let step = gaps.clone().map(|e| self.sparse.cost[e]).min().unwrap_or(short);
        let mut beside = vec![Vec::new(); patches.len()];
        for e in gaps.filter(|&e| alike(self.sparse.cost[e], step)) {
            beside[rows(e).0].push(rows(e).1);
            beside[rows(e).1].push(rows(e).0);
        }
        let mut depth = vec![None; patches.len()];
        let first = row[joint(self.net, &vec![0; n + 1]).ends[0] as usize];
        depth[first] = Some(0);
        let mut queue = vec![first];
        let mut at = 0;
        while let Some(&r) = queue.get(at) {
            at += 1;
            for &next in &beside[r] {
                if depth[next].is_none() {
                    depth[next] = depth[r].map(|d| d + 1);
                    queue.push(next);
                }
            }
        }
        let mut price: Vec<i64> =
            row.iter().map(|&r| -(step - short) * depth[r].unwrap_or(0)).collect();
        price.push(0);
        price
    }

    /// For every node the `count` edges nearest to being in the 1-tree, nearest first.
    pub fn nearest_by_alpha(&mut self, count: usize) -> Lists {
        let mut lists = Lists::default();
        for near in self.by_alpha(count) {
            let count = if lists.start.len() == self.net.len() { 2 * count } else { count };
            lists.push(&near.iter().take(count).map(|e| (e.1, e.2)).collect::<Vec<_>>());
        }
        lists
    }

    /// How much heavier than in a lightest 1-tree an edge may be that is as good as in it: a
    /// hundredth of the shortest step.
    fn slack(&self) -> i64 {
        self.lists.cost.iter().min().map_or(0, |c| c / 100)
    }

    /// For every node the edges that are in a lightest 1-tree, or all but.
    pub fn tight(&mut self) -> Lists {
        let slack = self.slack();
        let mut lists = Lists::default();
        for near in self.by_alpha(FEW_AT_PARK) {
            let near = near.iter().take_while(|e| e.0 <= slack);
            lists.push(&near.map(|e| (e.1, e.2)).collect::<Vec<_>>());
        }
        lists
    }

    /// For every node its edges as alpha, cost and other end, sorted: by alpha the tree would grow
    /// with the edge forced in. Of the last node's, twice `count` are looked at.
    fn by_alpha(&mut self, count: usize) -> Vec<Vec<(i64, i64, u32)>> {
        let n = self.net.len() - 1;
        let price = self.price.clone();
        // A forest of joins without shortcuts: the heaviest edge on the path between two nodes is
        // the last join on the way from both to where they meet.
        let mut parent: Vec<u32> = (0..n as u32).collect();
        let mut join = vec![u32::MAX; n];
        let mut size = vec![1u32; n];
        let mut weight_of = Vec::with_capacity(n);
        let root = |parent: &[u32], mut a: u32| {
            while parent[a as usize] != a {
                a = parent[a as usize];
            }
            a
        };
        let mut link = |a: u32, b: u32, weight: i64| {
            let (mut a, mut b) = (root(&parent, a), root(&parent, b));
            if size[a as usize] < size[b as usize] {
                std::mem::swap(&mut a, &mut b);
            }
            parent[b as usize] = a;
            size[a as usize] += size[b as usize];
            join[b as usize] = weight_of.len() as u32;
            weight_of.push(weight);
        };
        for (a, &b) in self.net.mate.iter().enumerate() {
            if b != NONE && (a as u32) < b && (b as usize) < n {
                link(a as u32, b, i64::MIN / 4);
            }
        }
        let mut taken = Vec::with_capacity(n);
        self.sparse.tree(self.net, &price, |e| taken.push(e));
        let weigh = |e: usize, sparse: &Sparse| {
            let (a, b) = sparse.ends[e];
            sparse.cost[e] + price[a as usize] + price[b as usize]
        };
        for e in taken {
            let (a, b) = self.sparse.ends[e];
            link(a, b, weigh(e, &self.sparse));
        }
        let mut each: Vec<Vec<(i64, i64, u32)>> = vec![Vec::new(); n + 1];
        for e in 0..self.sparse.ends.len() {
            let (a, b) = self.sparse.ends[e];
            let (mut p, mut q, mut last) = (a, b, 0);
            while p != q {
                // Joins are numbered in order of weight: climb from the earlier one.
                let (x, y) = (join[p as usize], join[q as usize]);
                if x <= y {
                    last = x;
                    p = parent[p as usize];
                } else {
                    last = y;
                    q = parent[q as usize];
                }
            }
            let alpha = (weigh(e, &self.sparse) - weight_of[last as usize]).max(0);
            let cost = self.sparse.cost[e];
            each[a as usize].push((alpha, cost, b));
            each[b as usize].push((alpha, cost, a));
        }
        // The last node is in no tree: its nearest, and it for them.
        let second = joint(self.net, &price).weight[1];
        let mut own: Vec<(i64, i64, u32)> = (0..n as u32)
            .map(|b| {
                let cost = self.net.cost(n as u32, b);
                ((cost + price[b as usize] - second).max(0), cost, b)
            })
            .collect();
        let keep = (2 * count).min(own.len() - 1);
        own.select_nth_unstable(keep);
        own.truncate(keep);
        for &(alpha, cost, b) in &own {
            each[b as usize].push((alpha, cost, n as u32));
        }
        each[n] = own;
        for near in &mut each {
            near.sort_unstable();
        }
        each
    }
}
