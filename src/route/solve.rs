//! The whole of the search on one network, and how much of it.

use super::Effort;
use super::bound::Bound;
use super::greedy::{Strips, greedy};
use super::near::{Lists, Tree, neighbours};
use super::net::Net;
use super::search::Search;

/// Neighbours by plain cost, from which the better ones are chosen.
const NEAREST: usize = 8;

/// So few nodes that all are neighbours of each other.
const FEW: usize = 16;

/// Neighbours by alpha that the search tries.
const ALPHA: usize = 6;

/// A tour and what no tour is below, in whole units.
pub(super) struct Solution {
    pub tour: Vec<u32>,
    pub length: i64,
    pub bound: i64,
}

/// How much to try on `n` nodes.
struct Budget {
    /// Steps of the ascent before the search, and at most after it.
    first_climb: usize,
    climb: usize,
    /// Starts by strips.
    strips: usize,
    kicks: usize,
}

impl Effort {
    /// Budgets shrink with size so that time grows little faster than in proportion.
    fn budget(self, n: usize) -> Budget {
        let (strips, climb, kicks) = match self {
            Effort::Quick => (40_000, 600_000, 0),
            Effort::Normal => (400_000, 2_000_000, 10_000),
            Effort::Thorough => (800_000, 4_000_000, 30_000),
        };
        Budget {
            first_climb: (climb / 4 / n).clamp(60, 100),
            climb: (climb / n).clamp(60, 1_000),
            strips: strips / n,
            kicks: kicks.min(kicks / 1_000 * n).min((n * n / 40 + 50) * kicks / 10_000),
        }
    }
}

fn nearest(n: usize) -> usize {
    if n <= FEW { n - 1 } else { NEAREST }
}

/// A tour of the whole net and a bound on every tour. `start` may offer tours to begin from.
pub(super) fn solve(
    net: &Net,
    start: Vec<u32>,
    effort: Effort,
    progress: &mut dyn FnMut(f64),
) -> Solution {
    let n = net.len();
    if n < 8 {
        let tour = best_of_all(net);
        let length = net.length(&tour);
        return Solution { tour, length, bound: length };
    }
    let budget = effort.budget(n);
    let tree = Tree::new(&net.xy[..n - 1]);
    let (near, reach) = neighbours(net, &tree, n - 1, nearest(n));
    progress(0.05);
    let mut tour = if net.rank.is_empty() { greedy(net, &near) } else { start.clone() };
    if net.length(&start) < net.length(&tour) {
        tour = start;
    }
    let mut bound = Bound::new(net, &tree, &near, &reach);
    bound.climb(budget.first_climb, net.length(&tour) / 10 * 9, 1.0);
    bound.prove();
    let lists = bound.nearest_by_alpha(if n <= FEW { n } else { ALPHA });
    progress(0.2);

    let mut search = Search::new(net, &lists, tour);
    search.descend();
    progress(0.3);
    if net.mate.is_empty() && net.rank.is_empty() {
        try_strips(net, &lists, &mut search, &bound, budget.strips);
    }
    climb(&mut bound, budget.climb, search.length);
    progress(0.4);
    search.kick(budget.kicks, enough(bound.proven), &mut |done| progress(0.4 + 0.5 * done));
    if search.length > enough(bound.proven) {
        climb(&mut bound, budget.climb / 2, search.length);
    }
    Solution {
        length: search.length,
        bound: bound.proven.min(search.length),
        tour: search.tour.order,
    }
}

/// A bound on every tour of the net, without looking for one.
pub(super) fn prove(net: &Net, effort: Effort) -> i64 {
    let n = net.len();
    if n < 8 {
        return net.length(&best_of_all(net));
    }
    let budget = effort.budget(n);
    let tree = Tree::new(&net.xy[..n - 1]);
    let (near, reach) = neighbours(net, &tree, n - 1, nearest(n));
    let target = net.length(&greedy(net, &near));
    let mut bound = Bound::new(net, &tree, &near, &reach);
    climb(&mut bound, budget.climb, target / 10 * 9);
    bound.proven
}

/// A length so near the bound that the rest is the rounding of moves to whole units.
fn enough(bound: i64) -> i64 {
    bound + (bound >> 20)
}

/// Climbs and proves; again while the exact tree shows edges that the few had lacked.
fn climb(bound: &mut Bound, rounds: usize, target: i64) {
    for part in [1, 2, 4] {
        bound.climb(rounds / part, target, 1.0);
        if !bound.prove() {
            break;
        }
    }
}

/// On a lattice, tours differ by how they run through its rows, and no chain of exchanges leads
/// from one kind to another: each kind is a start of its own.
fn try_strips<'a>(
    net: &'a Net,
    lists: &'a Lists,
    search: &mut Search<'a>,
    bound: &Bound,
    tries: usize,
) {
    let m = net.len() as u32 - 1;
    for strips in Strips::all(&net.xy[..m as usize]).into_iter().take(tries) {
        if search.length <= enough(bound.proven) {
            return;
        }
        let mut order = strips.order(&net.xy[..m as usize]);
        order.push(m);
        let mut other = Search::new(net, lists, order);
        other.descend();
        if other.length < search.length {
            *search = other;
        }
    }
}

/// The best of all tours of fewer than eight nodes.
fn best_of_all(net: &Net) -> Vec<u32> {
    let mut tour: Vec<u32> = (0..net.len() as u32).collect();
    let mut best: Option<(i64, Vec<u32>)> = None;
    permute(&mut tour, 1, &mut |t| {
        let whole = net.mate.is_empty()
            || (0..t.len()).all(|i| {
                let mate = net.mate[t[i] as usize];
                let (before, after) = (t[(i + t.len() - 1) % t.len()], t[(i + 1) % t.len()]);
                mate == super::net::NONE || mate == before || mate == after
            });
        if whole && best.as_ref().is_none_or(|b| net.length(t) < b.0) {
            best = Some((net.length(t), t.to_vec()));
        }
    });
    best.map_or(Vec::new(), |b| b.1)
}

fn permute(tour: &mut [u32], from: usize, visit: &mut dyn FnMut(&[u32])) {
    if from + 1 >= tour.len() {
        visit(tour);
        return;
    }
    for i in from..tour.len() {
        tour.swap(from, i);
        permute(tour, from + 1, visit);
        tour.swap(from, i);
    }
}
