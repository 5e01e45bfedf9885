//! Orders that let a spot recover: places near one just worked wait for others.

use super::net::Net;
use super::{
    Cost, Effort, Ends, Order, Place, Unorderable, distance, order, order_in_groups, travel,
};

/// Foam dents while it is drilled and needs a while to recover.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rest {
    /// Places nearer than this to one just worked wait, mm.
    pub within: f64,
    /// At least this many others are worked in between, where that is possible.
    pub others: usize,
}

impl Rest {
    /// How many pairs of `sequence` are worked too soon after each other. (A closed way is not
    /// followed past its end: the work is done then.)
    pub fn broken(&self, places: &[Place], sequence: &[usize]) -> usize {
        let mut broken = 0;
        for (i, &a) in sequence.iter().enumerate() {
            let soon = sequence[i + 1..].iter().take(self.others);
            broken += soon.filter(|&&b| self.near(places[a], places[b])).count();
        }
        broken
    }

    fn near(&self, a: Place, b: Place) -> bool {
        distance(a, b) < self.within
    }
}

/// Like [`order`], but places near one just worked wait for others, as far as that is possible;
/// among orders that break the rest equally often, a cheap one is taken. The bound is that of
/// orders without rest, which no order with rest can be below.
///
/// The places are shared out to classes without neighbours, one class is worked after the other,
/// and places are then moved while that mends a rest or, without breaking one, saves cost.
///
/// # Errors
/// As [`order`].
pub fn order_with_rest(
    places: &[Place],
    rest: Rest,
    ends: Ends,
    cost: Cost,
    effort: Effort,
    progress: &mut dyn FnMut(f64),
) -> Result<Order, Unorderable> {
    let free = order(places, ends, cost, effort, &mut |done| progress(0.5 * done))?;
    if rest.others == 0 || rest.broken(places, &free.sequence) == 0 {
        return Ok(free);
    }
    let mut all = places.to_vec();
    if let Ends::Park(park) = ends {
        all.push(park);
    }
    let mut net = Net::new(&all, &cost)?;
    net.xy = all;
    let classes = classes(places, &rest, &free.sequence);
    let by_classes = if ends == Ends::Closed { Ends::Open } else { ends };
    let by_classes = order_in_groups(places, &classes, by_classes, cost, effort, &mut |done| {
        progress(0.5 + 0.4 * done)
    })?
    .sequence;
    let mut line = Line { net: &net, places, rest, ends, sequence: Vec::new() };
    let mut best = (usize::MAX, i64::MAX, free.sequence.clone());
    for start in [by_classes, by_waiting(places, &rest, &free.sequence), free.sequence.clone()] {
        line.sequence = start;
        line.mend();
        let broken = rest.broken(places, &line.sequence);
        let length = line.length();
        if (broken, length) < (best.0, best.1) {
            best = (broken, length, line.sequence.clone());
        }
    }
    progress(1.0);
    let (_, length, sequence) = best;
    Ok(Order {
        cost: length as f64 / net.scale,
        bound: free.bound,
        travel: travel(sequence.iter().map(|&i| places[i]), ends),
        sequence,
    })
}

/// Buckets of the size of the rest distance, so that only near places are compared.
struct Buckets {
    size: f64,
    low: Place,
    at: std::collections::BTreeMap<(i64, i64), Vec<usize>>,
}

impl Buckets {
    fn new(places: &[Place], size: f64) -> Buckets {
        let mut low = [f64::INFINITY; 2];
        for p in places {
            low = [low[0].min(p[0]), low[1].min(p[1])];
        }
        let mut buckets = Buckets { size: size.max(1e-3), low, at: Default::default() };
        for (i, &p) in places.iter().enumerate() {
            let key = buckets.key(p);
            buckets.at.entry(key).or_default().push(i);
        }
        buckets
    }

    fn key(&self, p: Place) -> (i64, i64) {
        let cell = |axis: usize| ((p[axis] - self.low[axis]) / self.size).floor() as i64;
        (cell(0), cell(1))
    }

    fn around(&self, p: Place) -> impl Iterator<Item = usize> + '_ {
        let (x, y) = self.key(p);
        (x.saturating_sub(1)..=x.saturating_add(1))
            .flat_map(move |x| (y.saturating_sub(1)..=y.saturating_add(1)).map(move |y| (x, y)))
            .filter_map(|key| self.at.get(&key))
            .flatten()
            .copied()
    }
}

/// Classes without near pairs: each place takes the first class that none of its neighbours has.
fn classes(places: &[Place], rest: &Rest, sequence: &[usize]) -> Vec<u32> {
    let buckets = Buckets::new(places, rest.within);
    let mut class = vec![u32::MAX; places.len()];
    for &i in sequence {
        let mut taken: Vec<u32> = buckets
            .around(places[i])
            .filter(|&j| class[j] != u32::MAX && rest.near(places[i], places[j]))
            .map(|j| class[j])
            .collect();
        taken.sort_unstable();
        taken.dedup();
        // The first number missing from 0, 1, 2 ...
        class[i] = (0u32..).zip(&taken).take_while(|(k, t)| k == *t).count() as u32;
    }
    class
}

/// The order of `sequence`, each time the first waiting place that is not near the last few.
fn by_waiting(places: &[Place], rest: &Rest, sequence: &[usize]) -> Vec<usize> {
    let mut waiting: std::collections::VecDeque<usize> = sequence.iter().copied().collect();
    let mut way: Vec<usize> = Vec::with_capacity(places.len());
    while !waiting.is_empty() {
        let recent = &way[way.len().saturating_sub(rest.others)..];
        let rested = |&i: &usize| recent.iter().all(|&j| !rest.near(places[i], places[j]));
        // Far down the list nothing is worth the way.
        let at = waiting.iter().take(2_000).position(rested).unwrap_or(0);
        way.extend(waiting.remove(at));
    }
    way
}

/// A sequence under repair.
struct Line<'a> {
    net: &'a Net,
    places: &'a [Place],
    rest: Rest,
    ends: Ends,
    sequence: Vec<usize>,
}

impl Line<'_> {
    fn leg(&self, a: Option<&usize>, b: Option<&usize>) -> i64 {
        let park = self.places.len() as u32;
        match (a, b, self.ends) {
            (Some(&a), Some(&b), _) => self.net.cost(a as u32, b as u32),
            (Some(&a), None, Ends::Park(_)) | (None, Some(&a), Ends::Park(_)) => {
                self.net.cost(a as u32, park)
            }
            _ => 0,
        }
    }

    fn length(&self) -> i64 {
        let s = &self.sequence;
        let mut sum = self.leg(None, s.first()) + self.leg(s.last(), None);
        sum += s.windows(2).map(|w| self.leg(Some(&w[0]), Some(&w[1]))).sum::<i64>();
        if let (Ends::Closed, [first, .., last]) = (self.ends, &s[..]) {
            sum += self.leg(Some(last), Some(first));
        }
        sum
    }

    /// Breaks and cost of the stretch from `low` to before `high`, with what reaches out of it.
    fn worth(&self, low: usize, high: usize) -> (usize, i64) {
        let s = &self.sequence;
        let mut broken = 0;
        let from = low.saturating_sub(self.rest.others);
        for i in from..high {
            for &b in s.iter().skip(i + 1).take(self.rest.others) {
                broken += usize::from(self.rest.near(self.places[s[i]], self.places[b]));
            }
        }
        let mut cost = 0;
        for i in low..=high {
            cost += self.leg(i.checked_sub(1).and_then(|i| s.get(i)), s.get(i));
        }
        (broken, cost)
    }

    /// Reverses and rotates short stretches while that mends a rest, or saves cost and breaks none.
    fn mend(&mut self) {
        const SPAN: usize = 12;
        let n = self.sequence.len();
        for _ in 0..4 {
            let mut changed = false;
            for low in 0..n {
                for high in low + 2..=(low + SPAN).min(n) {
                    let before = self.worth(low, high);
                    self.sequence[low..high].reverse();
                    if self.worth(low, high) < before {
                        changed = true;
                        continue;
                    }
                    self.sequence[low..high].reverse();
                    self.sequence[low..high].rotate_left(1);
                    if self.worth(low, high) < before {
                        changed = true;
                        continue;
                    }
                    self.sequence[low..high].rotate_right(1);
                }
            }
            if !changed {
                break;
            }
        }
    }
}
