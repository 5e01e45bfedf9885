//! How long moves take on a controller that looks ahead.
//!
//! Each move speeds up and slows down evenly (a trapezoid). Where moves follow each other without a
//! stop, the speed at a joint is what lets the controller pass the corner within its junction deviation
//! δ: `v² = a·δ·s/(1-s)`, `s = sqrt((1-cosθ)/2)`, θ the angle between the two legs. A pass backward and
//! one forward then hold every joint to what the legs on either side can reach.
//!
//! mm, mm/s, mm/s², s.

use std::collections::VecDeque;

/// How many moves the look-ahead holds. Times are exact unless the way to a full stop is longer than
/// half of them; then they are a little too long, as on a controller with a buffer of that size.
pub const WINDOW: usize = 1024;

/// One move, along its path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    pub length: f64,
    /// Greatest speed.
    pub speed: f64,
    pub acceleration: f64,
}

impl Leg {
    /// Seconds from one end speed to the other. Both must be within the leg's reach.
    pub fn seconds(&self, from: f64, to: f64) -> f64 {
        let (l, a) = (self.length, self.acceleration);
        if l == 0.0 {
            return 0.0;
        }
        let ends = from * from + to * to;
        let peak = self.speed.min(((2.0 * a * l + ends) / 2.0).sqrt());
        let steady = l - (2.0 * peak * peak - ends) / (2.0 * a);
        ((peak - from) + (peak - to)) / a + steady.max(0.0) / peak
    }

    /// The same until the first `part` of the length is done, mm.
    pub fn seconds_to(&self, part: f64, from: f64, to: f64) -> f64 {
        let (l, a) = (self.length, self.acceleration);
        let ends = from * from + to * to;
        let peak = self.speed.min(((2.0 * a * l + ends) / 2.0).sqrt());
        let speeding_up = (peak * peak - from * from) / (2.0 * a);
        let slowing_down = (peak * peak - to * to) / (2.0 * a);
        let left = l - part;
        if part <= speeding_up {
            ((from * from + 2.0 * a * part).sqrt() - from) / a
        } else if left >= slowing_down {
            (peak - from) / a + (part - speeding_up) / peak
        } else {
            self.seconds(from, to) - ((to * to + 2.0 * a * left).sqrt() - to) / a
        }
    }

    /// Speed squared that the leg can make of a speed squared at its other end.
    fn reach(&self, squared: f64) -> f64 {
        squared + 2.0 * self.acceleration * self.length
    }
}

/// A leg, and how fast it is begun and ended: its time is certain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ride {
    pub leg: Leg,
    pub from: f64,
    pub to: f64,
}

impl Ride {
    pub fn seconds(&self) -> f64 {
        self.leg.seconds(self.from, self.to)
    }

    /// Until the first `part` of the length is done, mm.
    pub fn seconds_to(&self, part: f64) -> f64 {
        self.leg.seconds_to(part, self.from, self.to)
    }
}

/// Speed squared at a joint between two directions of length 1, ∞ where the way goes straight on.
pub fn joint_squared(
    leaving: [f64; 3],
    entering: [f64; 3],
    acceleration: f64,
    cornering: f64,
) -> f64 {
    let dot = (0..3).map(|axis| leaving[axis] * entering[axis]).sum::<f64>();
    // The legs' own angle is the supplement of the turn: cosθ = -dot.
    let s = ((1.0 + dot.clamp(-1.0, 1.0)) / 2.0).sqrt();
    if 1.0 - s < 1e-12 {
        return f64::INFINITY;
    }
    acceleration * cornering * s / (1.0 - s)
}

/// Moves that follow each other without a stop, until their times are known. It begins at rest.
#[derive(Debug)]
pub struct Chain<T> {
    waiting: VecDeque<Waiting<T>>,
}

#[derive(Debug)]
struct Waiting<T> {
    leg: Leg,
    /// Greatest speed squared at the leg's beginning; exact for the first one waiting.
    entry: f64,
    what: T,
}

impl<T> Default for Chain<T> {
    fn default() -> Self {
        Chain { waiting: VecDeque::new() }
    }
}

impl<T> Chain<T> {
    /// Adds a move. `joint` is the speed squared that the corner before it allows; the first move of a
    /// chain starts at rest. Moves whose times are now certain are handed to `done` with their rides.
    pub fn push(&mut self, leg: Leg, joint: f64, what: T, done: impl FnMut(T, Ride)) {
        let entry = match self.waiting.back() {
            None => 0.0,
            Some(before) => {
                let slower = before.leg.speed.min(leg.speed);
                joint.min(slower * slower)
            }
        };
        self.waiting.push_back(Waiting { leg, entry, what });
        if self.waiting.len() == WINDOW {
            self.hand_over_first_half(done);
        }
    }

    /// The way ends in a stop: all times are certain.
    pub fn rest(&mut self, done: impl FnMut(T, Ride)) {
        self.pass_backward(|_, _, _| {});
        self.hand_over(self.waiting.len(), done);
    }

    pub fn is_empty(&self) -> bool {
        self.waiting.is_empty()
    }

    /// If the way ended here in a stop: what each beginning may then have. A beginning that this leaves
    /// as its corner allows can only stay so whatever follows, and all before it is certain.
    fn hand_over_first_half(&mut self, done: impl FnMut(T, Ride)) {
        let mut certain = 0;
        let mut entries = [0.0; WINDOW];
        self.pass_backward(|i, own, held| {
            entries[i] = own;
            if own <= held && certain == 0 {
                certain = i;
            }
        });
        let enough = certain.max(WINDOW / 2);
        self.hand_over(enough, done);
        // What was held back for a stop that does not come is given back to those who wait on.
        for (i, waiting) in self.waiting.iter_mut().enumerate().skip(1) {
            waiting.entry = entries[enough + i];
        }
    }

    /// Holds every beginning to what its leg can slow down from; shows each one's place, own limit and
    /// the limit by slowing down.
    fn pass_backward(&mut self, mut see: impl FnMut(usize, f64, f64)) {
        let mut next = 0.0;
        for (i, waiting) in self.waiting.iter_mut().enumerate().rev() {
            let held = waiting.leg.reach(next);
            see(i, waiting.entry, held);
            if i > 0 {
                waiting.entry = waiting.entry.min(held);
            }
            next = waiting.entry;
        }
    }

    /// Hands over the first `count` moves, and holds the next one's beginning to what they reach.
    fn hand_over(&mut self, count: usize, mut done: impl FnMut(T, Ride)) {
        for _ in 0..count {
            let Some(Waiting { leg, entry, what }) = self.waiting.pop_front() else { return };
            let exit = match self.waiting.front_mut() {
                Some(next) => {
                    next.entry = next.entry.min(leg.reach(entry));
                    next.entry
                }
                None => 0.0,
            };
            done(what, Ride { leg, from: entry.sqrt(), to: exit.sqrt() });
        }
    }
}
