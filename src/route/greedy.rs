//! Two ways to start: the cheapest edges first, and row by row.

use super::near::{Lists, Tree, neighbours, spatial_order};
use super::net::{NONE, Net};

/// Disjoint sets of nodes.
pub(super) struct Sets {
    parent: Vec<u32>,
}

impl Sets {
    pub fn new(n: usize) -> Sets {
        Sets { parent: (0..n as u32).collect() }
    }

    #[inline]
    pub fn find(&mut self, mut a: u32) -> u32 {
        while self.parent[a as usize] != a {
            let up = self.parent[self.parent[a as usize] as usize];
            self.parent[a as usize] = up;
            a = up;
        }
        a
    }

    /// Joins the sets of `a` and `b`; false if they were one already.
    #[inline]
    pub fn join(&mut self, a: u32, b: u32) -> bool {
        let (a, b) = (self.find(a), self.find(b));
        // The lower number leads: one fixed answer, and numbers follow space, so trees stay flat.
        self.parent[a.max(b) as usize] = a.min(b);
        a != b
    }
}

/// Paths that grow together into a tour.
struct Fragments {
    sets: Sets,
    link: Vec<[u32; 2]>,
    pieces: usize,
}

impl Fragments {
    fn loose(&self, a: u32) -> bool {
        self.link[a as usize][1] == NONE
    }

    fn attach(&mut self, a: u32, b: u32) {
        for (a, b) in [(a, b), (b, a)] {
            let link = &mut self.link[a as usize];
            link[usize::from(link[0] != NONE)] = b;
        }
    }

    fn try_join(&mut self, a: u32, b: u32) {
        if self.loose(a) && self.loose(b) && self.sets.join(a, b) {
            self.attach(a, b);
            self.pieces -= 1;
        }
    }
}

/// A tour made from the cheapest edges that still fit, strokes first. `lists` holds neighbours of
/// the first nodes; those left over are joined by searching among the loose ends alone.
pub(super) fn greedy(net: &Net, lists: &Lists) -> Vec<u32> {
    let n = net.len();
    let mut parts = Fragments { sets: Sets::new(n), link: vec![[NONE; 2]; n], pieces: n };
    for (a, &b) in net.mate.iter().enumerate() {
        if b != NONE && (a as u32) < b {
            parts.try_join(a as u32, b);
        }
    }
    let mut edges = Vec::new();
    for a in 0..(lists.start.len().max(1) - 1) as u32 {
        for at in lists.range(a) {
            let b = lists.to[at];
            edges.push((lists.cost[at], a.min(b), a.max(b)));
        }
    }
    join_cheapest(&mut parts, &mut edges);
    let free = net.xy[n - 1][0].is_nan();
    while parts.pieces > 1 + usize::from(free) {
        let loose: Vec<u32> =
            (0..(n - usize::from(free)) as u32).filter(|&a| parts.loose(a)).collect();
        edges.clear();
        if loose.len() <= 12 {
            for (i, &a) in loose.iter().enumerate() {
                edges.extend(loose[..i].iter().map(|&b| (net.cost(a, b), b, a)));
            }
        } else {
            // Two is enough for the cheapest pair of all to be seen; more saves rounds.
            let spots: Vec<[f64; 2]> = loose.iter().map(|&a| net.xy[a as usize]).collect();
            let ids: Vec<u32> = spatial_order(&spots);
            let mut sub = net.clone_bare();
            sub.xy = ids.iter().map(|&i| spots[i as usize]).collect();
            let tree = Tree::new(&sub.xy);
            let (near, _) = neighbours(&sub, &tree, sub.len(), 6);
            for a in 0..sub.len() as u32 {
                for at in near.range(a) {
                    let (a, b) = (
                        loose[ids[a as usize] as usize],
                        loose[ids[near.to[at] as usize] as usize],
                    );
                    edges.push((net.cost(a, b), a.min(b), a.max(b)));
                }
            }
        }
        join_cheapest(&mut parts, &mut edges);
    }
    walk(net, &parts, free)
}

fn join_cheapest(parts: &mut Fragments, edges: &mut [(i64, u32, u32)]) {
    edges.sort_unstable();
    for &(_, a, b) in edges.iter() {
        parts.try_join(a, b);
    }
}

/// Reads the one path as a tour. A free end goes where the path closes.
fn walk(net: &Net, parts: &Fragments, free: bool) -> Vec<u32> {
    let n = net.len();
    let mut tour = Vec::with_capacity(n);
    let last = (n - usize::from(free)) as u32;
    let mut at = (0..last).find(|&a| parts.loose(a)).unwrap_or(0);
    let mut from = NONE;
    while at != NONE {
        tour.push(at);
        let [p, q] = parts.link[at as usize];
        let next = if p == from { q } else { p };
        from = at;
        at = next;
    }
    if free {
        tour.push(last);
    }
    tour
}

/// To and fro in strips of neighbouring lines: a line is all places at one X, or at one Y.
#[derive(Clone, Copy, Debug)]
pub(super) struct Strips {
    /// 1: lines at one Y, walked along X; 0: the other way round.
    axis: usize,
    /// Lines in the first strip, and in every other.
    lines: [usize; 2],
    /// Places at the beginning of every line that are left for the way back.
    lane: usize,
    /// Whether lines, and places along them, are counted from the other end.
    flip: [bool; 2],
}

/// Row by row, to and fro: the order a person would drill in, and the one never to be worse than.
pub(super) const ROW_BY_ROW: Strips = Strips { axis: 1, lines: [1, 1], lane: 0, flip: [false; 2] };

impl Strips {
    /// All kinds worth a try, likeliest first; none where the places stand on no lines.
    pub fn all(xy: &[[f64; 2]]) -> Vec<Strips> {
        let mut all = Vec::new();
        let lattice = [0, 1].map(|axis| {
            let mut at: Vec<f64> = xy.iter().map(|p| p[axis]).collect();
            at.sort_unstable_by(f64::total_cmp);
            at.dedup();
            2 * at.len() < xy.len()
        });
        for (lane, lines) in
            [(1, [2, 2]), (0, [2, 2]), (2, [2, 2]), (1, [1, 1]), (1, [1, 2]), (3, [2, 2])]
        {
            for axis in [1, 0] {
                for flip in [[false; 2], [false, true], [true, false], [true; 2]] {
                    if lattice[axis] {
                        all.push(Strips { axis, lines, lane, flip });
                    }
                }
            }
        }
        all
    }

    pub fn order(&self, xy: &[[f64; 2]]) -> Vec<u32> {
        let sign = self.flip.map(|flip| if flip { -1.0 } else { 1.0 });
        let across = |i: u32| sign[0] * xy[i as usize][self.axis];
        let along = |i: u32| sign[1] * xy[i as usize][1 - self.axis];
        let mut ids: Vec<u32> = (0..xy.len() as u32).collect();
        ids.sort_unstable_by(|&a, &b| {
            across(a).total_cmp(&across(b)).then(along(a).total_cmp(&along(b))).then(a.cmp(&b))
        });
        let mut order = Vec::with_capacity(ids.len());
        let mut back = Vec::new();
        let mut strip: Vec<u32> = Vec::new();
        let mut backwards = false;
        let mut wanted = self.lines[0];
        let mut begin = 0;
        while begin < ids.len() {
            let line = across(ids[begin]);
            let end = begin + ids[begin..].iter().take_while(|&&i| across(i) == line).count();
            let kept = (begin + self.lane).min(end);
            back.extend(ids[begin..kept].iter().rev());
            strip.extend(&ids[kept..end]);
            begin = end;
            wanted -= 1;
            if wanted == 0 || end == ids.len() {
                strip.sort_unstable_by(|&a, &b| {
                    let by_line = across(a).total_cmp(&across(b));
                    along(a).total_cmp(&along(b)).then(by_line).then(a.cmp(&b))
                });
                if backwards {
                    strip.reverse();
                }
                backwards = !backwards;
                order.append(&mut strip);
                wanted = self.lines[1];
            }
        }
        order.extend(back.iter().rev());
        order
    }
}
