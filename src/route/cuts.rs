//! What a relaxation breaks and no tour does: cuts of the places in two.
//!
//! A tour crosses every cut at least twice, and an even number of times. So it crosses none less
//! than twice (Dantzig, Fulkerson and Johnson 1954), and of no odd number of a cut's edges exactly
//! these: either one of them is missing or another is there (the blossom inequalities of Edmonds
//! 1965, found by a cut tree as in Letchford, Reinelt and Theis 2008; all from memory).

use super::flow::Flow;
use super::greedy::Sets;

/// Shares of edges are counted in these units.
const WHOLE: i64 = 1 << 24;

/// A cut is broken if by more than this.
const BROKEN: i64 = WHOLE / 10_000;

/// Cuts of one kind to add at once, but for those around lines.
const AT_ONCE: usize = 20;

/// What holds for every tour: the edges it uses, each times its factor, are `least` at least.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Cut {
    /// Indices of edges, and their factors.
    pub terms: Vec<(u32, i64)>,
    pub least: i64,
    /// Whether it holds only where it was decided so.
    pub decided: bool,
}

/// Edges as pairs of nodes, and how much of each a relaxation uses.
pub(super) struct Shares<'a> {
    nodes: usize,
    ends: &'a [[u32; 2]],
    /// In units of [`WHOLE`].
    share: Vec<i64>,
}

impl<'a> Shares<'a> {
    pub fn new(nodes: usize, ends: &'a [[u32; 2]], share: &[f64]) -> Self {
        let units = |s: &f64| ((s * WHOLE as f64 + 0.5) as i64).clamp(0, WHOLE);
        Shares { nodes, ends, share: share.iter().map(units).collect() }
    }

    /// Cuts that are crossed less than twice, the worst first.
    pub fn crossed_too_little(&self) -> Vec<Cut> {
        let parts = self.parts();
        if parts.len() > 1 {
            // What enters all but one enters the last as well.
            return parts[1..].iter().map(|inside| crossing(self.ends, inside)).collect();
        }
        // What wholly used edges join may be taken for one node: a cut through them that is crossed
        // too little can be moved off them, and is crossed no more (Padberg and Rinaldi 1990).
        let mut sets = Sets::new(self.nodes);
        for (&[a, b], &share) in self.ends.iter().zip(&self.share) {
            if share > WHOLE - BROKEN {
                sets.join(a, b);
            }
        }
        let (number, nodes) = numbered(&mut sets, self.nodes);
        let used: Vec<_> = (0..self.ends.len())
            .filter(|&e| self.share[e] > 0)
            .map(|e| (self.ends[e].map(|a| number[a as usize]), self.share[e]))
            .filter(|([a, b], _)| a != b)
            .collect();
        let mut found = Vec::new();
        for side in Flow::new(nodes, &used).cuts_below(2 * WHOLE - BROKEN) {
            let inside: Vec<bool> = number.iter().map(|&a| side[a as usize]).collect();
            let crossed = (0..self.ends.len()).filter(|&e| crosses(self.ends[e], &inside));
            found.push((crossed.map(|e| self.share[e]).sum(), inside));
        }
        worst(found).iter().map(|inside| crossing(self.ends, inside)).collect()
    }

    /// Cuts whose odd edges are used as no tour can: the worst of any, and all of those around `lines`.
    pub fn odd(&self, lines: &[Vec<bool>]) -> Vec<Cut> {
        let split = |e: usize| self.share[e].min(WHOLE - self.share[e]);
        let part: Vec<_> = (0..self.ends.len())
            .filter(|&e| split(e) > 0)
            .map(|e| (self.ends[e], split(e)))
            .collect();
        // Only the nodes of split edges, numbered anew.
        let mut nodes: Vec<u32> = part.iter().flat_map(|p| p.0).collect();
        nodes.sort_unstable();
        nodes.dedup();
        let number = |a: u32| nodes.partition_point(|&b| b < a) as u32;
        let part: Vec<_> = part.iter().map(|(ends, s)| (ends.map(number), *s)).collect();
        let mut found = Vec::new();
        for side in Flow::new(nodes.len(), &part).cuts_below(WHOLE - BROKEN) {
            let mut inside = vec![false; self.nodes];
            for (&a, side) in nodes.iter().zip(side) {
                inside[a as usize] = side;
            }
            let (odd, slack) = self.odd_edges(&inside);
            if slack < WHOLE - BROKEN {
                found.push((slack, (inside, odd)));
            }
        }
        let cut = |inside: &[bool], odd: &[usize]| {
            let mut cut = crossing(self.ends, inside);
            for (e, factor) in &mut cut.terms {
                if odd.binary_search(&(*e as usize)).is_ok() {
                    *factor = -1;
                }
            }
            cut.least = 1 - odd.len() as i64;
            cut
        };
        let found = worst(found);
        let others = lines.iter().filter(|&inside| found.iter().all(|f| f.0 != *inside));
        let of_lines = others.filter_map(|inside| {
            let (odd, slack) = self.odd_edges(inside);
            (slack < WHOLE - BROKEN).then(|| cut(inside, &odd))
        });
        found.iter().map(|(inside, odd)| cut(inside, odd)).chain(of_lines).collect()
    }

    /// The odd number of a cut's edges that are used most like wholes, and how far the use is from
    /// exactly these.
    fn odd_edges(&self, inside: &[bool]) -> (Vec<usize>, i64) {
        let mut odd = Vec::new();
        let (mut slack, mut flip) = (0, (i64::MAX, 0));
        for e in (0..self.ends.len()).filter(|&e| crosses(self.ends[e], inside)) {
            let (with, without) = (WHOLE - self.share[e], self.share[e]);
            slack += with.min(without);
            flip = flip.min(((with - without).abs(), e));
            if with < without {
                odd.push(e);
            }
        }
        if odd.len() % 2 == 0 {
            if flip.0 == i64::MAX {
                return (odd, WHOLE);
            }
            slack += flip.0;
            match odd.binary_search(&flip.1) {
                Ok(at) => drop(odd.remove(at)),
                Err(at) => odd.insert(at, flip.1),
            }
        }
        (odd, slack)
    }

    /// The connected parts of the used edges.
    fn parts(&self) -> Vec<Vec<bool>> {
        let mut sets = Sets::new(self.nodes);
        for (e, &[a, b]) in self.ends.iter().enumerate() {
            if self.share[e] > BROKEN {
                sets.join(a, b);
            }
        }
        let (number, parts) = numbered(&mut sets, self.nodes);
        (0..parts).map(|p| number.iter().map(|&a| a as usize == p).collect()).collect()
    }
}

pub(super) fn crosses(ends: [u32; 2], inside: &[bool]) -> bool {
    inside[ends[0] as usize] != inside[ends[1] as usize]
}

/// That the cut around the nodes `inside` is crossed twice.
pub(super) fn crossing(ends: &[[u32; 2]], inside: &[bool]) -> Cut {
    let crossed = (0..ends.len()).filter(|&e| crosses(ends[e], inside));
    Cut { terms: crossed.map(|e| (e as u32, 1)).collect(), least: 2, decided: false }
}

/// Of every node, which of the sets it is in, counted from 0; and how many there are.
fn numbered(sets: &mut Sets, nodes: usize) -> (Vec<u32>, usize) {
    let root: Vec<u32> = (0..nodes as u32).map(|a| sets.find(a)).collect();
    let mut roots = root.clone();
    roots.sort_unstable();
    roots.dedup();
    (root.iter().map(|a| roots.partition_point(|b| b < a) as u32).collect(), roots.len())
}

/// What is found with the lowest numbers, lowest first, each once, [`AT_ONCE`] at most.
fn worst<T: Ord>(mut found: Vec<(i64, T)>) -> Vec<T> {
    found.sort_unstable();
    found.dedup();
    found.truncate(AT_ONCE);
    found.into_iter().map(|f| f.1).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route::search::Chance;
    use crate::route::solve::permute;

    /// All edges among so many nodes.
    fn all(nodes: u32) -> Vec<[u32; 2]> {
        (0..nodes).flat_map(|a| (a + 1..nodes).map(move |b| [a, b])).collect()
    }

    /// What the edges of every tour of six nodes come to, in a cut's own measure.
    fn least_of_tours(cut: &Cut, ends: &[[u32; 2]]) -> i64 {
        let mut least = i64::MAX;
        let mut way = [1, 2, 3, 4, 5];
        permute(&mut way, 0, &mut |way| {
            let mut tour = vec![0];
            tour.extend(way);
            let used = |e: u32| {
                let of = |i: usize| [tour[i], tour[(i + 1) % 6]];
                let [a, b] = ends[e as usize];
                (0..6).any(|i| of(i) == [a, b] || of(i) == [b, a])
            };
            let terms = cut.terms.iter().filter(|t| used(t.0));
            least = least.min(terms.map(|t| t.1).sum());
        });
        least
    }

    #[test]
    fn two_loops_apart_are_cut() {
        let ends = all(6);
        let apart = |[a, b]: &[u32; 2]| f64::from(u8::from((*a < 3) == (*b < 3)));
        let share: Vec<f64> = ends.iter().map(apart).collect();
        let cuts = Shares::new(6, &ends, &share).crossed_too_little();
        let [cut] = &cuts[..] else { panic!("one cut tells both: {cuts:?}") };
        assert_eq!((cut.terms.len(), cut.least), (9, 2));
        assert_eq!(least_of_tours(cut, &ends), 2);
    }

    #[test]
    fn three_whole_edges_between_two_halved_loops_are_odd() {
        let ends = all(6);
        let share = |&[a, b]: &[u32; 2]| match (a < 3, b < 3) {
            (true, false) => f64::from(u8::from(a + 3 == b)),
            _ => 0.5,
        };
        let share: Vec<f64> = ends.iter().map(share).collect();
        let shares = Shares::new(6, &ends, &share);
        assert_eq!(shares.crossed_too_little(), []);
        let cuts = shares.odd(&[]);
        let between = |c: &Cut| c.terms.iter().filter(|t| t.1 == -1).count() == 3 && c.least == -2;
        assert!(cuts.iter().any(between), "{cuts:?}");
    }

    #[test]
    fn what_is_cut_is_broken_and_kept_by_every_tour() {
        let ends = all(6);
        let mut chance = Chance(6);
        let mut seen = [0; 3];
        for _ in 0..300 {
            // Loops and halved loops, mixed: every node has two edges in all.
            let mut share = vec![0.0; ends.len()];
            for part in [0.8, 0.1, 0.1] {
                let mut way = [0, 1, 2, 3, 4, 5];
                (1..6).for_each(|i| way.swap(i, chance.below(i + 1)));
                let round = |l: &[u32]| -> Vec<[u32; 2]> {
                    (0..l.len()).map(|i| [l[i], l[(i + 1) % l.len()]]).collect()
                };
                let two = || [round(&way[..3]), round(&way[3..])].concat();
                let (halves, wholes) = match chance.below(3) {
                    0 => (Vec::new(), round(&way)),
                    1 => (Vec::new(), two()),
                    _ => (two(), (0..3).map(|i| [way[i], way[i + 3]]).collect()),
                };
                let halves = halves.into_iter().map(|e| (e, part / 2.0));
                for ([a, b], part) in halves.chain(wholes.into_iter().map(|e| (e, part))) {
                    let edge = ends.iter().position(|&e| e == [a.min(b), a.max(b)]);
                    share[edge.expect("all edges")] += part;
                }
            }
            let shares = Shares::new(6, &ends, &share);
            let line: Vec<bool> = (0..6).map(|_| chance.below(2) == 0).collect();
            let found = [shares.crossed_too_little(), shares.odd(&[]), shares.odd(&[line])];
            for (kind, cuts) in found.into_iter().enumerate() {
                for cut in cuts {
                    let used: f64 =
                        cut.terms.iter().map(|t| share[t.0 as usize] * t.1 as f64).sum();
                    assert!(used < cut.least as f64 - 1e-5, "not broken: {cut:?} by {share:?}");
                    assert!(least_of_tours(&cut, &ends) >= cut.least, "no tour may: {cut:?}");
                    seen[kind] += 1;
                }
            }
        }
        assert!(seen.iter().all(|&s| s > 50), "too few of a kind: {seen:?}");
    }
}
