//! The least cuts of a small undirected network.

use super::net::NONE;

/// What may flow along each edge, either way, in whole units.
pub(super) struct Flow {
    /// Where each node's arcs begin in `arcs`, and where the last one's end.
    start: Vec<usize>,
    /// Arcs by their tail; an edge is two of them, `2 e` and `2 e + 1`.
    arcs: Vec<u32>,
    to: Vec<u32>,
    room: Vec<i64>,
    left: Vec<i64>,
    /// The arc by which the search came to each node.
    via: Vec<u32>,
    queue: Vec<u32>,
}

impl Flow {
    pub fn new(nodes: usize, edges: &[([u32; 2], i64)]) -> Flow {
        let mut start = vec![0; nodes + 1];
        for (ends, _) in edges {
            for &a in ends {
                start[a as usize + 1] += 1;
            }
        }
        for a in 0..nodes {
            start[a + 1] += start[a];
        }
        let mut fill = start.clone();
        let mut arcs = vec![0; 2 * edges.len()];
        let mut to = Vec::with_capacity(2 * edges.len());
        let mut room = Vec::with_capacity(2 * edges.len());
        for &([a, b], capacity) in edges {
            for (tail, head) in [(a, b), (b, a)] {
                arcs[fill[tail as usize]] = to.len() as u32;
                fill[tail as usize] += 1;
                to.push(head);
                room.push(capacity);
            }
        }
        let left = room.clone();
        Flow { start, arcs, to, room, left, via: vec![NONE; nodes], queue: Vec::new() }
    }

    /// Whether less than `limit` can flow from `source` to `sink`. Then the nodes that the search
    /// last came to, by an arc in `via`, are the source's side of a least cut.
    fn below(&mut self, source: u32, sink: u32, limit: i64) -> bool {
        self.left.copy_from_slice(&self.room);
        let mut flow = 0;
        while flow < limit {
            if !self.search(source, sink) {
                return true;
            }
            let mut least = limit;
            let mut a = sink;
            while a != source {
                let arc = self.via[a as usize] as usize;
                least = least.min(self.left[arc]);
                a = self.to[arc ^ 1];
            }
            let mut a = sink;
            while a != source {
                let arc = self.via[a as usize] as usize;
                self.left[arc] -= least;
                self.left[arc ^ 1] += least;
                a = self.to[arc ^ 1];
            }
            flow += least;
        }
        false
    }

    /// Breadth first, so that no way is longer than it must be.
    fn search(&mut self, source: u32, sink: u32) -> bool {
        self.via.fill(NONE);
        self.via[source as usize] = NONE - 1;
        self.queue.clear();
        self.queue.push(source);
        let mut at = 0;
        while let Some(&a) = self.queue.get(at) {
            at += 1;
            for &arc in &self.arcs[self.start[a as usize]..self.start[a as usize + 1]] {
                let b = self.to[arc as usize];
                if self.left[arc as usize] > 0 && self.via[b as usize] == NONE {
                    self.via[b as usize] = arc;
                    if b == sink {
                        return true;
                    }
                    self.queue.push(b);
                }
            }
        }
        false
    }

    /// One side of a cut below `limit` for every two nodes that one parts, by one flow a node
    /// (Gusfield 1990, from memory): of every node, whether it is on that side.
    pub fn cuts_below(&mut self, limit: i64) -> Vec<Vec<bool>> {
        let nodes = self.via.len();
        let mut parent = vec![0; nodes];
        let mut found = Vec::new();
        for a in 1..nodes {
            if self.below(a as u32, parent[a], limit) {
                let side: Vec<bool> = self.via.iter().map(|&v| v != NONE).collect();
                for b in a + 1..nodes {
                    if parent[b] == parent[a] && side[b] {
                        parent[b] = a as u32;
                    }
                }
                found.push(side);
            }
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route::search::Chance;

    #[test]
    fn a_cut_below_is_found_wherever_there_is_one() {
        let mut chance = Chance(7);
        let (mut some, mut none) = (0, 0);
        for _ in 0..500 {
            let nodes = 3 + chance.below(5) as u32;
            let mut edges = Vec::new();
            for a in 0..nodes {
                for b in a + 1..nodes {
                    if chance.below(3) > 0 {
                        edges.push(([a, b], 1 + chance.below(5) as i64));
                    }
                }
            }
            let crossed = |side: &[bool]| -> i64 {
                let parted = |e: &[u32; 2]| side[e[0] as usize] != side[e[1] as usize];
                edges.iter().filter(|(e, _)| parted(e)).map(|e| e.1).sum()
            };
            let side = |set: u32| (0..nodes).map(|a| set >> a & 1 == 1).collect::<Vec<_>>();
            let least = (1..(1 << nodes) - 1).map(|set| crossed(&side(set))).min().unwrap();
            let sides = Flow::new(nodes as usize, &edges).cuts_below(4);
            assert!(
                sides.iter().all(|s| s.contains(&true) && s.contains(&false)),
                "a side is empty"
            );
            let found = sides.iter().map(|s| crossed(s)).min().unwrap_or(i64::MAX);
            if least < 4 {
                assert_eq!(found, least, "{edges:?}");
                some += 1;
            } else {
                assert_eq!(found, i64::MAX, "{edges:?}");
                none += 1;
            }
        }
        assert!(some > 50 && none > 50, "{some} and {none}");
    }
}
