//! A tour as an array, and moves that exchange up to [`DEEPEST`] edges at once.

/// The most edges one move may exchange.
pub(super) const DEEPEST: usize = 8;

/// A cyclic order of nodes, where each stands, and what to undo.
#[derive(Clone, Debug)]
pub(super) struct Tour {
    pub order: Vec<u32>,
    pub place: Vec<u32>,
    /// Nodes overwritten since the last [`Tour::forget`], in runs.
    old: Vec<u32>,
    runs: Vec<(u32, u32)>,
}

/// Edges taken out and put in: edge (`t[0]`,`t[1]`) out, (`t[1]`,`t[2]`) in, (`t[2]`,`t[3]`) out,
/// … and the last to `t[0]` in.
#[derive(Clone, Copy, Debug)]
pub(super) struct Exchange {
    pub t: [u32; 2 * DEEPEST],
    /// Edges out so far.
    pub edges: usize,
}

/// The stretches of tour between the edges taken out, in their new order.
pub(super) struct Splice {
    /// First and last position, walked backwards if the third is set.
    stretch: [(u32, u32, bool); DEEPEST],
    count: usize,
}

impl Exchange {
    /// Puts edge (`t[2k-1]`,`c`) in and takes (`c`,`d`) out, as the `k`th after the first.
    #[inline]
    pub fn set(&mut self, k: usize, c: u32, d: u32) {
        self.t[2 * k] = c;
        self.t[2 * k + 1] = d;
        self.edges = k + 1;
    }

    /// Whether the edge between `c` and `d` is among the first `k` out.
    #[inline]
    pub fn takes(&self, k: usize, c: u32, d: u32) -> bool {
        let t = &self.t;
        (0..k).any(|e| (t[2 * e], t[2 * e + 1]) == (c, d) || (t[2 * e + 1], t[2 * e]) == (c, d))
    }
}

impl Tour {
    pub fn new(order: Vec<u32>) -> Tour {
        let mut place = vec![0; order.len()];
        for (at, &node) in order.iter().enumerate() {
            place[node as usize] = at as u32;
        }
        Tour { order, place, old: Vec::new(), runs: Vec::new() }
    }

    #[inline(always)]
    pub fn next(&self, node: u32) -> u32 {
        let at = self.place[node as usize] as usize + 1;
        self.order[if at == self.order.len() { 0 } else { at }]
    }

    #[inline(always)]
    pub fn previous(&self, node: u32) -> u32 {
        let at = self.place[node as usize] as usize;
        self.order[if at == 0 { self.order.len() - 1 } else { at - 1 }]
    }

    /// What the exchange makes of the tour, or `None` if it falls apart into several.
    #[inline]
    pub fn splice(&self, x: &Exchange) -> Option<Splice> {
        let k = x.edges;
        let n = self.order.len() as u32;
        // Edges out, sorted by the position of their first node; `slot` is twice the edge's rank,
        // plus one for the node after the gap.
        let mut gap = [(0u32, 0u8); DEEPEST];
        for (e, g) in gap.iter_mut().enumerate().take(k) {
            let a = self.place[x.t[2 * e] as usize];
            let b = self.place[x.t[2 * e + 1] as usize];
            // The first of the two, even across the end of the array.
            let forward = a + 1 == b || (b == 0 && a + 1 == n);
            *g = if forward { (a, 2 * e as u8) } else { (b, 2 * e as u8 + 1) };
        }
        // Insertion sort: at most eight.
        for i in 1..k {
            let mut j = i;
            while j > 0 && gap[j - 1].0 > gap[j].0 {
                gap.swap(j - 1, j);
                j -= 1;
            }
        }
        let mut slot_of = [0u8; 2 * DEEPEST];
        let mut end_at = [0u8; 2 * DEEPEST];
        for (rank, &(_, first)) in gap.iter().enumerate().take(k) {
            slot_of[first as usize] = 2 * rank as u8;
            slot_of[(first ^ 1) as usize] = 2 * rank as u8 + 1;
            end_at[2 * rank] = first;
            end_at[2 * rank + 1] = first ^ 1;
        }
        let mut splice = Splice { stretch: [(0, 0, false); DEEPEST], count: 0 };
        // Begin after the first gap and walk stretches and new edges until back there.
        let mut slot = 1usize;
        loop {
            let rank = slot / 2;
            let out;
            if slot % 2 == 1 {
                let till = if rank + 1 == k { 0 } else { rank + 1 };
                let begin = if gap[rank].0 + 1 == n { 0 } else { gap[rank].0 + 1 };
                splice.stretch[splice.count] = (begin, gap[till].0, false);
                out = 2 * till;
            } else {
                let from = if rank == 0 { k - 1 } else { rank - 1 };
                let begin = if gap[from].0 + 1 == n { 0 } else { gap[from].0 + 1 };
                splice.stretch[splice.count] = (begin, gap[rank].0, true);
                out = 2 * from + 1;
            }
            splice.count += 1;
            let end = end_at[out] as usize;
            let joined =
                if end % 2 == 1 { (end + 1) % (2 * k) } else { (end + 2 * k - 1) % (2 * k) };
            slot = slot_of[joined] as usize;
            if slot == 1 {
                break;
            }
            if splice.count == k {
                return None;
            }
        }
        (splice.count == k).then_some(splice)
    }

    /// Rewrites all but the longest stretch, and keeps what stood there for [`Tour::undo`].
    pub fn apply(&mut self, splice: &Splice) {
        let n = self.order.len();
        let k = splice.count;
        let length = |s: (u32, u32, bool)| {
            let l = s.1 as usize + 1 + n - s.0 as usize;
            if l > n { l - n } else { l }
        };
        let mut longest = 0;
        for i in 1..k {
            if length(splice.stretch[i]) > length(splice.stretch[longest]) {
                longest = i;
            }
        }
        let kept = splice.stretch[longest];
        let begin = (kept.1 as usize + 1) % n;
        let count = n - length(kept);
        let base = self.old.len();
        self.runs.push((begin as u32, count as u32));
        let tail = (n - begin).min(count);
        self.old.extend_from_slice(&self.order[begin..begin + tail]);
        self.old.extend_from_slice(&self.order[..count - tail]);
        let mut at = begin;
        for i in 1..k {
            // Walked the other way round when the longest would otherwise have to be reversed.
            let (from, to, back) = if kept.2 {
                let s = splice.stretch[(longest + k - i) % k];
                (s.0, s.1, !s.2)
            } else {
                splice.stretch[(longest + i) % k]
            };
            let len = length((from, to, back));
            let offset = (from as usize + n - begin) % n;
            let source = base + offset;
            for j in 0..len {
                let node = self.old[if back { source + len - 1 - j } else { source + j }];
                self.order[at] = node;
                self.place[node as usize] = at as u32;
                at += 1;
                if at == n {
                    at = 0;
                }
            }
        }
    }

    /// Exchanges the order of the three stretches between four gaps, each after the position given
    /// (rising; reduced modulo the length): A B C D becomes A D C B.
    pub fn bridge(&mut self, cut: [usize; 4]) {
        let n = self.order.len();
        let mut splice = Splice { stretch: [(0, 0, false); DEEPEST], count: 4 };
        for (i, (from, to)) in [(3, 0), (2, 3), (1, 2), (0, 1)].into_iter().enumerate() {
            splice.stretch[i] = (((cut[from] + 1) % n) as u32, (cut[to] % n) as u32, false);
        }
        self.apply(&splice);
    }

    /// Keeps what was done.
    #[inline]
    pub fn forget(&mut self) {
        self.old.clear();
        self.runs.clear();
    }

    /// Takes back everything since the last [`Tour::forget`].
    pub fn undo(&mut self) {
        let n = self.order.len();
        while let Some((begin, count)) = self.runs.pop() {
            let base = self.old.len() - count as usize;
            let mut at = begin as usize;
            for &node in &self.old[base..] {
                self.order[at] = node;
                self.place[node as usize] = at as u32;
                at += 1;
                if at == n {
                    at = 0;
                }
            }
            self.old.truncate(base);
        }
    }
}
