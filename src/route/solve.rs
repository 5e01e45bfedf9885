//! The whole of the search on one network, and how much of it.

use super::Effort;
use super::bound::Bound;
use super::exact::settle;
use super::greedy::{Strips, greedy};
use super::near::{Tree, neighbours};
use super::net::Net;
use super::search::{LIGHT, SIDEWAYS, Search, THOROUGH};
use super::strands::strands;
use super::tour::Tour;
use super::weave::Weave;

/// Neighbours by plain cost, from which the better ones are chosen.
const NEAREST: usize = 8;

/// More nodes than this are kicked less, and climbed a last time only where the bound is within this part of the tour:
/// elsewhere that proves little more.
const LARGE: usize = 600;
const CLOSE: i64 = 200;

/// On so many, strips that make a tour more than so many times as long as the best yet are no way to start: the places
/// stand in no rows that go through.
const FIT: i64 = 2;

/// On more places than this the bound is proved once, when all is done, and the search ends with its kicks: what a proof
/// teaches it, or one more look from every place wins, is less than its time is worth.
const MANY: usize = 50_000;

/// Places in rows are kicked so many times as often: what is wrong in one row has to meet what is wrong in another. On
/// 5,000 places that is as long again as all else.
const IN_ROWS: usize = 10;

/// Starts that are kicked a while before one is chosen; on a lattice, where which of them can be woven to the optimum does
/// not show at first, each for less long.
const RIVALS: usize = 4;
const RIVALS_ON_LATTICE: usize = 12;

/// So few nodes that all are neighbours of each other.
const FEW: usize = 16;

/// So many places, if they stand regularly, can be settled; scattered ones need many more cuts.
const FEW_REGULAR: usize = 2_500;
const FEW_SCATTERED: usize = 100;

/// Work on programs that proves most orders of regular places if the best is found. Only where it does not
/// are tours woven further, and is more work done.
const GLANCE: u64 = 2_000;

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
    /// Kicks on a lattice, where they are light.
    light_kicks: usize,
    /// Changes to each of the best tours of a lattice.
    weaves: usize,
    /// Work on linear programs to settle what is left open, before the kicks and after.
    programs: [u64; 2],
}

impl Effort {
    /// Budgets shrink with size so that time grows little faster than in proportion.
    fn budget(self, n: usize) -> Budget {
        let (strips, climb, kicks) = match self {
            Effort::Quick => (20_000, 600_000, 0),
            Effort::Normal => (200_000, 2_000_000, 5_000),
            Effort::Thorough => (400_000, 4_000_000, 20_000),
        };
        let tries = kicks as u64;
        let few = (40 * n + 50) * kicks / 5_000;
        let kicks = kicks.min(kicks / 1_000 * n).min(few).min(kicks * 20_000 / n);
        let climb = if n > MANY { climb / 2 } else { climb };
        Budget {
            light_kicks: if kicks > 0 { 2 * kicks.max(n.min(16_000)) } else { 0 },
            first_climb: (climb / 4 / n).clamp(15, 100),
            climb: (climb / n).clamp(12, 5_000),
            weaves: kicks / 8,
            // On many, a program takes as long as the kicks, so they come first; on few, work is done sooner.
            programs: match n {
                _ if n > LARGE => [0, tries / 5 * 6],
                200.. => [(tries * 2).min(30_000); 2],
                _ => [(tries * 3).min(30_000); 2],
            },
            strips: (strips / n).clamp(2, 40).max(if kicks > 0 { 8 } else { 0 }),
            // On so many two thirds more of them would win a tenth of a per cent.
            kicks: if n > LARGE { kicks * 6 / 10 } else { kicks },
        }
    }
}

fn nearest(n: usize) -> usize {
    if n <= FEW { n - 1 } else { NEAREST }
}

/// A tour of the whole net and a bound on every tour. `start` is a tour to begin from. `known` is a
/// length that no tour worth having is below, where the caller has proved one: none is then looked
/// for with care.
pub(super) fn solve(
    net: &Net,
    start: Vec<u32>,
    known: Option<i64>,
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
    let goal = |bound: &Bound| enough(bound.proven.max(known.unwrap_or(0)));
    progress(0.05);
    let mut tour = if net.rank.is_empty() { greedy(net, &near) } else { start.clone() };
    if net.length(&start) < net.length(&tour) {
        tour = start;
    }
    let mut bound = Bound::new(net, &tree, &near, &reach);
    bound.climb(budget.first_climb, net.length(&tour) / 10 * 9, 1.0);
    if n <= MANY {
        bound.prove();
    }
    let lists = bound.nearest_by_alpha(if n <= FEW { n } else { ALPHA });
    progress(0.2);

    let plain = net.mate.is_empty() && net.rank.is_empty();
    let most = if bound.regular { FEW_REGULAR } else { FEW_SCATTERED };
    // So few that it can be settled whether a tour is the shortest.
    let few = n <= most && plain && known.is_none();
    // What can be settled soon is worth more tries to find it.
    let often = if few && n <= LARGE { 3 } else { 1 };
    let (manner, kicks) = if bound.lattice {
        (LIGHT, often * budget.light_kicks)
    } else if bound.rows && bound.regular && plain && n <= MANY {
        (SIDEWAYS, IN_ROWS * budget.kicks)
    } else {
        (THOROUGH, often * budget.kicks)
    };
    let mut search = Search::new(net, &lists, manner, tour);
    search.descend();
    let mut rivals = vec![search];
    if plain {
        let most = if bound.lattice { RIVALS_ON_LATTICE } else { RIVALS };
        if bound.regular && !bound.lattice {
            add_strands(&mut bound, &mut rivals, most, few);
        }
        let strips = Strips::all(&net.xy[..n - 1]).into_iter().take(budget.strips);
        let whole = |strips: Strips| {
            let mut order = strips.order(&net.xy[..n - 1]);
            order.push(n as u32 - 1);
            order
        };
        add(&mut rivals, most, goal(&bound), strips.map(whole));
    }
    progress(0.35);
    let near_enough = goal(&bound);
    weave(&mut bound, &mut rivals, budget.weaves / 8, near_enough);
    if known.is_none() && rivals[0].length > goal(&bound) {
        // On a lattice the leaves are lowered, and that is proved; what steps would win, programs win sooner.
        let rounds = if few && bound.lattice && budget.programs[0] > 0 { 0 } else { budget.climb };
        climb(&mut bound, rounds, rivals[0].length);
    }
    progress(0.45);
    // The glance does not count as a try: the same tour may get the whole work later.
    let mut tried = None;
    if few {
        settle_best(&mut bound, &mut rivals[0], budget.programs[0].min(GLANCE), &mut None);
    }
    let near_enough = goal(&bound);
    weave(&mut bound, &mut rivals, budget.weaves, near_enough);
    if few {
        settle_best(&mut bound, &mut rivals[0], budget.programs[0], &mut tried);
    }
    let near_enough = goal(&bound);
    let mut search = best_rival(rivals, kicks, near_enough, progress);
    search.kick(kicks / 2, near_enough, &mut |done| progress(0.6 + 0.3 * done));
    let mut rivals = [search];
    weave(&mut bound, &mut rivals, budget.weaves, near_enough);
    let [mut search] = rivals;
    if n <= MANY {
        search.descend();
    }
    let close = n <= LARGE || search.length - bound.proven < bound.proven / CLOSE;
    if few {
        settle_best(&mut bound, &mut search, budget.programs[1], &mut tried);
    } else if search.length > near_enough && budget.climb > 100 && close && known.is_none() {
        climb(&mut bound, budget.climb / 2, search.length);
    }
    Solution {
        length: search.length,
        bound: bound.proven.min(search.length),
        tour: search.tour.order,
    }
}

/// Settles whether a tour is the shortest, where that is open: raises the bound, or takes a shorter.
/// Of one as long as was `tried` before, the same work shows nothing more.
fn settle_best(bound: &mut Bound, best: &mut Search, work: u64, tried: &mut Option<i64>) {
    let again = tried.is_some_and(|tried| best.length >= tried);
    if work == 0 || again || best.length <= enough(bound.proven) {
        return;
    }
    *tried = Some(best.length);
    let settled = settle(bound.net, &bound.price, bound.proven, &best.tour.order, work);
    bound.proven = settled.bound;
    if let Some(tour) = settled.tour {
        best.length = bound.net.length(&tour);
        best.tour = Tour::new(tour);
    }
}

/// A bound on every tour of the net, without looking for one. `length` is that of a known tour.
pub(super) fn prove(net: &Net, length: i64, effort: Effort) -> i64 {
    let n = net.len();
    if n < 8 {
        return net.length(&best_of_all(net));
    }
    let budget = effort.budget(n);
    let tree = Tree::new(&net.xy[..net.narrow()]);
    let (near, reach) = neighbours(net, &tree, n - 1, nearest(n));
    let mut bound = Bound::new(net, &tree, &near, &reach);
    climb(&mut bound, budget.climb, length);
    bound.proven
}

/// A length so near the bound that the rest is the rounding of moves to whole units.
pub(super) fn enough(bound: i64) -> i64 {
    bound + (bound >> 20)
}

/// Climbs and proves; again while the exact tree shows edges that the few had lacked.
fn climb(bound: &mut Bound, rounds: usize, target: i64) {
    if bound.lattice {
        bound.lower_leaves();
    }
    // Short climbs go on from where the first one, in haste as well, had come.
    let stride = if rounds <= 100 { 0.15 } else { 1.0 };
    // On a great many places another climb wins less than its time is worth.
    let parts: &[usize] = if rounds <= 25 { &[1] } else { &[1, 2, 4] };
    for part in parts {
        bound.climb(rounds / part, target, stride);
        if !bound.prove() {
            break;
        }
    }
}

/// Where places stand in rows: the best of the tours that go through them in two strands, and what is
/// proved by that of all others.
fn add_strands(bound: &mut Bound, rivals: &mut Vec<Search>, most: usize, few: bool) {
    let found = strands(bound.net);
    add(rivals, most, enough(bound.proven), found.iter().map(|strands| strands.tour.clone()));
    if few && rivals[0].length > enough(bound.proven) {
        let bounds = found.iter().filter_map(|strands| strands.bound(bound.net));
        bound.proven = bounds.fold(bound.proven, i64::max);
    }
}

/// Adds starts until one is at the goal. Where places stand regularly, tours differ by how they run
/// through the rows, and no chain of exchanges leads from one kind to another: each kind is a start
/// of its own. Rivals stay sorted, shortest first.
fn add(rivals: &mut Vec<Search>, most: usize, goal: i64, starts: impl Iterator<Item = Vec<u32>>) {
    let Search { net, lists, manner, .. } = rivals[0];
    for order in starts {
        if rivals[0].length <= goal {
            return;
        }
        if net.len() > LARGE && net.length(&order) > FIT * rivals[0].length {
            continue;
        }
        let mut other = Search::new(net, lists, manner, order);
        other.descend();
        let place = rivals.partition_point(|r| r.length <= other.length);
        if rivals.iter().all(|r| r.length != other.length) {
            rivals.insert(place, other);
            rivals.truncate(most);
        }
    }
}

/// On a lattice, weaves the rivals, the best first, until one is at the goal. Rivals stay sorted.
fn weave(bound: &mut Bound, rivals: &mut [Search], tries: usize, goal: i64) {
    let plain = bound.net.mate.is_empty() && bound.net.rank.is_empty();
    if !bound.lattice || !plain || tries == 0 || rivals[0].length <= goal {
        return;
    }
    let tight = bound.tight();
    for rival in rivals.iter_mut() {
        let mut weave = Weave::new(bound.net, &tight, &rival.tour.order);
        weave.improve(tries, goal);
        rival.length = weave.length;
        rival.tour = Tour::new(weave.order());
        if rival.length <= goal {
            break;
        }
    }
    rivals.sort_by_key(|r| r.length);
}

/// Half of all kicks: rivals share them, four at least, or the only one gets them.
fn best_rival<'a>(
    mut rivals: Vec<Search<'a>>,
    kicks: usize,
    goal: i64,
    progress: &mut dyn FnMut(f64),
) -> Search<'a> {
    let share = rivals.len().max(RIVALS);
    if rivals.len() > 1 && rivals[0].length > goal {
        for (i, rival) in rivals.iter_mut().enumerate() {
            let from = 0.45 + 0.15 * i as f64 / share as f64;
            rival.kick(kicks / 2 / share, goal, &mut |_| progress(from));
        }
    } else if let [only] = &mut rivals[..] {
        only.kick(kicks / 2, goal, &mut |done| progress(0.45 + 0.15 * done));
    }
    rivals.into_iter().min_by_key(|r| r.length).expect("one rival at least")
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

/// Every order of `tour` from place `from` on.
pub(super) fn permute(tour: &mut [u32], from: usize, visit: &mut dyn FnMut(&[u32])) {
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
