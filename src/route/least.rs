//! What no order of strokes can cost less than.
//!
//! The larger of two bounds: the cheapest matching of the odd vertices, and Held and Karp's over the
//! strokes as fixed edges. A loop is a node that costs the least over its points to go to; a tour may
//! then enter it at one point and leave it at another, which makes the bound no larger. A 1-tree asks
//! for no triangle inequality.

use super::net::Net;
use super::network::Network;
use super::solve::prove;
use super::strokes::{MOST_TIPS, Shape, Stroke, Task, drawn, move_cost};
use super::{Effort, Place};

/// Pairs of points compared at the most to find what loops cost.
const MOST_PAIRS: usize = 20_000_000;

/// A loop with several entries: which stroke, the middle of its box, and the box's half size.
struct Loop {
    stroke: usize,
    middle: Place,
    half: Place,
}

impl Task<'_> {
    /// A bound on all orders, whatever the entries of the loops. `length` is that of a known order.
    pub fn least(&self, length: i64, effort: Effort) -> i64 {
        let loops = self.loops();
        let all: usize = self.strokes.iter().map(|s| s.points.len()).sum();
        let mut pairs = 0;
        let (mut wide, mut small) = (Vec::new(), Vec::new());
        for own in loops {
            pairs += self.strokes[own.stroke].points.len() * all;
            if pairs <= MOST_PAIRS { wide.push(own.stroke) } else { small.push(own) }
        }
        // Too many to be told one by one, the smaller ones stand in their middles: from there it is at
        // most as much farther as their points lie from it, each time the pen comes or goes.
        let mut strokes = self.strokes.to_vec();
        let mut slack = 0;
        for Loop { stroke, middle, half } in small {
            strokes[stroke].points = vec![middle];
            slack += 2 * (self.bare.span(half[0], half[1]) + 1 + self.bare.lift);
        }
        let (mut net, tips) = self.net(&strokes, &vec![0; strokes.len()], &wide);
        if !wide.is_empty() {
            let from = tips.len() - wide.len();
            let table = self.table(&net, &wide, from);
            net.set_wide(from, table);
        }
        let drawn = drawn(&net, tips.len());
        let matched = match tips.len() {
            ..=MOST_TIPS => Network::new(&net, tips.len()).least(),
            _ => None,
        };
        let held_karp = prove(&net, length + drawn, effort) - drawn;
        (held_karp.max(matched.unwrap_or(0)) - slack).clamp(0, length)
    }

    /// All loops that have several entries, the largest first.
    fn loops(&self) -> Vec<Loop> {
        let several = |s: &(usize, &Stroke)| s.1.shape == Shape::Loop && s.1.points.len() > 1;
        let mut loops: Vec<Loop> = self
            .strokes
            .iter()
            .enumerate()
            .filter(several)
            .map(|(stroke, Stroke { points, .. })| {
                let (mut low, mut high) = (points[0], points[0]);
                for p in points {
                    for axis in 0..2 {
                        low[axis] = low[axis].min(p[axis]);
                        high[axis] = high[axis].max(p[axis]);
                    }
                }
                let middle = [0, 1].map(|axis| 0.5 * (low[axis] + high[axis]));
                let half = [0, 1].map(|axis| high[axis] - middle[axis]);
                Loop { stroke, middle, half }
            })
            .collect();
        let size = |l: &Loop| self.bare.span(l.half[0], l.half[1]);
        loops.sort_by_key(|l| (std::cmp::Reverse(size(l)), l.stroke));
        loops
    }

    /// What it costs from each wide loop, and from park, to every node.
    fn table(&self, net: &Net, wide: &[usize], from: usize) -> Vec<i64> {
        let points = |node: usize| -> &[Place] {
            match node.checked_sub(from).and_then(|at| wide.get(at)) {
                Some(&stroke) => &self.strokes[stroke].points,
                None => std::slice::from_ref(&net.xy[node]),
            }
        };
        let mut table = Vec::with_capacity((net.len() - from) * net.len());
        for a in from..net.len() {
            table.extend((0..net.len()).map(|b| {
                let (ps, qs) = (points(a).iter(), points(b));
                let cost = |p: &Place| qs.iter().map(|q| move_cost(net, *p, *q)).min();
                if a == b { 0 } else { ps.filter_map(cost).min().unwrap_or(0) }
            }));
        }
        table
    }
}
