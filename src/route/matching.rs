//! The cheapest perfect matching, exact.
//!
//! Edmonds, "Paths, trees, and flowers", 1965, in the form that keeps blossoms in one matrix and
//! takes O(n³) (Galil 1986; both from memory).

/// Vertices beyond this are too many for the cube of their number.
pub(super) const MOST: usize = 400;

const FREE: i8 = -1;
const OUTER: i8 = 0;
const INNER: i8 = 1;

/// An edge between two vertices; weight 0 means none.
#[derive(Clone, Copy, Default)]
struct Edge {
    u: u32,
    v: u32,
    weight: i64,
}

/// Vertices are 1..=n, blossoms above; 0 is none.
struct Blossoms {
    n: usize,
    used: usize,
    width: usize,
    edge: Vec<Edge>,
    /// Dual values.
    label: Vec<i64>,
    mate: Vec<usize>,
    slack: Vec<usize>,
    /// Outermost blossom of each.
    top: Vec<usize>,
    parent: Vec<usize>,
    /// Which petal of a blossom holds a vertex.
    petal: Vec<usize>,
    flower: Vec<Vec<usize>>,
    kind: Vec<i8>,
    seen: Vec<usize>,
    time: usize,
    queue: std::collections::VecDeque<usize>,
}

/// The partner of every vertex in a perfect matching of least total cost. `cost` is asked for every
/// pair; the number of vertices must be even.
pub(super) fn cheapest(n: usize, cost: impl Fn(usize, usize) -> i64) -> Vec<usize> {
    assert!(n.is_multiple_of(2), "an odd number of vertices has no perfect matching");
    if n == 0 {
        return Vec::new();
    }
    let mut most = 0;
    for i in 0..n {
        for j in 0..i {
            most = most.max(cost(i, j));
        }
    }
    // So heavy that one more edge always outweighs any saving.
    let heavy = (most + 1) * (n as i64 / 2 + 1);
    let width = 2 * n + 1;
    let mut b = Blossoms {
        n,
        used: n,
        width,
        edge: vec![Edge::default(); width * width],
        label: vec![0; width],
        mate: vec![0; width],
        slack: vec![0; width],
        top: vec![0; width],
        parent: vec![0; width],
        petal: vec![0; width * width],
        flower: vec![Vec::new(); width],
        kind: vec![FREE; width],
        seen: vec![0; width],
        time: 0,
        queue: std::collections::VecDeque::new(),
    };
    for u in 1..=n {
        b.top[u] = u;
        b.label[u] = heavy;
        b.petal[u * width + u] = u;
        for v in 1..=n {
            let weight = if u == v { 0 } else { heavy - cost(u - 1, v - 1) };
            b.edge[u * width + v] = Edge { u: u as u32, v: v as u32, weight };
        }
    }
    while b.grow() {}
    (1..=n).map(|u| b.mate[u] - 1).collect()
}

impl Blossoms {
    fn at(&self, u: usize, v: usize) -> Edge {
        self.edge[u * self.width + v]
    }

    /// By how much an edge is from being tight, twice over.
    fn spare(&self, e: Edge) -> i64 {
        let (u, v) = (e.u as usize, e.v as usize);
        self.label[u] + self.label[v] - 2 * self.edge[u * self.width + v].weight
    }

    fn offer_slack(&mut self, u: usize, x: usize) {
        let s = self.slack[x];
        if s == 0 || self.spare(self.at(u, x)) < self.spare(self.at(s, x)) {
            self.slack[x] = u;
        }
    }

    fn reset_slack(&mut self, x: usize) {
        self.slack[x] = 0;
        for u in 1..=self.n {
            if self.at(u, x).weight > 0 && self.top[u] != x && self.kind[self.top[u]] == OUTER {
                self.offer_slack(u, x);
            }
        }
    }

    fn enqueue(&mut self, x: usize) {
        if x <= self.n {
            self.queue.push_back(x);
        } else {
            for i in 0..self.flower[x].len() {
                self.enqueue(self.flower[x][i]);
            }
        }
    }

    fn set_top(&mut self, x: usize, top: usize) {
        self.top[x] = top;
        if x > self.n {
            for i in 0..self.flower[x].len() {
                self.set_top(self.flower[x][i], top);
            }
        }
    }

    /// Position of petal `x` in blossom `b`, the flower turned so that it is even.
    fn even_position(&mut self, b: usize, x: usize) -> usize {
        let at = self.flower[b].iter().position(|&p| p == x).expect("a petal of its own flower");
        if at % 2 == 1 {
            self.flower[b][1..].reverse();
            self.flower[b].len() - at
        } else {
            at
        }
    }

    fn set_mate(&mut self, u: usize, v: usize) {
        let e = self.at(u, v);
        self.mate[u] = e.v as usize;
        if u > self.n {
            let petal = self.petal[u * self.width + e.u as usize];
            let at = self.even_position(u, petal);
            for i in 0..at {
                self.set_mate(self.flower[u][i], self.flower[u][i ^ 1]);
            }
            self.set_mate(petal, v);
            self.flower[u].rotate_left(at);
        }
    }

    fn augment(&mut self, mut u: usize, mut v: usize) {
        loop {
            let next = self.top[self.mate[u]];
            self.set_mate(u, v);
            if next == 0 {
                return;
            }
            let up = self.top[self.parent[next]];
            self.set_mate(next, up);
            (u, v) = (up, next);
        }
    }

    fn meeting(&mut self, mut u: usize, mut v: usize) -> usize {
        self.time += 1;
        while u != 0 || v != 0 {
            if u != 0 {
                if self.seen[u] == self.time {
                    return u;
                }
                self.seen[u] = self.time;
                u = self.top[self.mate[u]];
                if u != 0 {
                    u = self.top[self.parent[u]];
                }
            }
            std::mem::swap(&mut u, &mut v);
        }
        0
    }

    fn shrink(&mut self, u: usize, meet: usize, v: usize) {
        let mut b = self.n + 1;
        while b <= self.used && self.top[b] != 0 {
            b += 1;
        }
        self.used = self.used.max(b);
        self.label[b] = 0;
        self.kind[b] = OUTER;
        self.mate[b] = self.mate[meet];
        let mut flower = vec![meet];
        for (turn, side) in [u, v].into_iter().enumerate() {
            let mut x = side;
            while x != meet {
                let y = self.top[self.mate[x]];
                flower.push(x);
                flower.push(y);
                self.enqueue(y);
                x = self.top[self.parent[y]];
            }
            if turn == 0 {
                flower[1..].reverse();
            }
        }
        self.flower[b] = flower;
        self.set_top(b, b);
        let w = self.width;
        for x in 1..=self.used {
            self.edge[b * w + x].weight = 0;
            self.edge[x * w + b].weight = 0;
        }
        self.petal[b * w..(b + 1) * w].fill(0);
        for i in 0..self.flower[b].len() {
            let petal = self.flower[b][i];
            for x in 1..=self.used {
                if self.at(b, x).weight == 0
                    || self.spare(self.at(petal, x)) < self.spare(self.at(b, x))
                {
                    self.edge[b * w + x] = self.at(petal, x);
                    self.edge[x * w + b] = self.at(x, petal);
                }
            }
            for x in 1..=self.n {
                if self.petal[petal * w + x] != 0 {
                    self.petal[b * w + x] = petal;
                }
            }
        }
        self.reset_slack(b);
    }

    fn expand(&mut self, b: usize) {
        for i in 0..self.flower[b].len() {
            let petal = self.flower[b][i];
            self.set_top(petal, petal);
        }
        let inside = self.at(b, self.parent[b]).u as usize;
        let entry = self.petal[b * self.width + inside];
        let at = self.even_position(b, entry);
        for i in (0..at).step_by(2) {
            let (inner, outer) = (self.flower[b][i], self.flower[b][i + 1]);
            self.parent[inner] = self.at(outer, inner).u as usize;
            self.kind[inner] = INNER;
            self.kind[outer] = OUTER;
            self.slack[inner] = 0;
            self.reset_slack(outer);
            self.enqueue(outer);
        }
        self.kind[entry] = INNER;
        self.parent[entry] = self.parent[b];
        for i in at + 1..self.flower[b].len() {
            let petal = self.flower[b][i];
            self.kind[petal] = FREE;
            self.reset_slack(petal);
        }
        self.top[b] = 0;
    }

    /// Uses a tight edge; true if the matching grew.
    fn tight(&mut self, e: Edge) -> bool {
        let (u, v) = (self.top[e.u as usize], self.top[e.v as usize]);
        if self.kind[v] == FREE {
            self.parent[v] = e.u as usize;
            self.kind[v] = INNER;
            let next = self.top[self.mate[v]];
            self.slack[v] = 0;
            self.slack[next] = 0;
            self.kind[next] = OUTER;
            self.enqueue(next);
        } else if self.kind[v] == OUTER {
            let meet = self.meeting(u, v);
            if meet == 0 {
                self.augment(u, v);
                self.augment(v, u);
                return true;
            }
            self.shrink(u, meet, v);
        }
        false
    }

    /// Adds one edge to the matching; false when it is perfect.
    fn grow(&mut self) -> bool {
        self.kind[1..=self.used].fill(FREE);
        self.slack[1..=self.used].fill(0);
        self.queue.clear();
        for x in 1..=self.used {
            if self.top[x] == x && self.mate[x] == 0 {
                self.parent[x] = 0;
                self.kind[x] = OUTER;
                self.enqueue(x);
            }
        }
        if self.queue.is_empty() {
            return false;
        }
        loop {
            while let Some(u) = self.queue.pop_front() {
                if self.kind[self.top[u]] == INNER {
                    continue;
                }
                for v in 1..=self.n {
                    let e = self.at(u, v);
                    if e.weight > 0 && self.top[u] != self.top[v] {
                        if self.spare(e) == 0 {
                            if self.tight(e) {
                                return true;
                            }
                        } else {
                            self.offer_slack(u, self.top[v]);
                        }
                    }
                }
            }
            self.shift_labels();
            self.queue.clear();
            for x in 1..=self.used {
                let s = self.slack[x];
                if self.top[x] == x && s != 0 && self.top[s] != x {
                    let e = self.at(s, x);
                    if self.spare(e) == 0 && self.tight(e) {
                        return true;
                    }
                }
            }
            for b in self.n + 1..=self.used {
                if self.top[b] == b && self.kind[b] == INNER && self.label[b] == 0 {
                    self.expand(b);
                }
            }
        }
    }

    fn shift_labels(&mut self) {
        let mut shift = i64::MAX;
        for x in 1..=self.used {
            if self.top[x] != x {
                continue;
            }
            if x > self.n && self.kind[x] == INNER {
                shift = shift.min(self.label[x] / 2);
            }
            if self.slack[x] != 0 {
                let spare = self.spare(self.at(self.slack[x], x));
                match self.kind[x] {
                    FREE => shift = shift.min(spare),
                    OUTER => shift = shift.min(spare / 2),
                    _ => {}
                }
            }
        }
        for u in 1..=self.n {
            match self.kind[self.top[u]] {
                OUTER => self.label[u] -= shift,
                INNER => self.label[u] += shift,
                _ => {}
            }
        }
        for b in self.n + 1..=self.used {
            if self.top[b] == b {
                match self.kind[b] {
                    OUTER => self.label[b] += 2 * shift,
                    INNER => self.label[b] -= 2 * shift,
                    _ => {}
                }
            }
        }
    }
}
