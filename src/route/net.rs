//! The places as a network of whole-number costs.
//!
//! Everything that decides anything compares whole numbers, so the order is the same on every
//! machine and a bound is a bound to the last unit.

use super::{Cost, Place, Unorderable};

/// No node: the mate of a node without a fixed edge.
pub(super) const NONE: u32 = u32::MAX;

/// How a pair is charged, in whole units of 1/`scale` (mm or s).
#[derive(Clone, Copy, Debug)]
enum Measure {
    /// Straight distance.
    Straight,
    /// Rest to rest; seconds a mm at full speed, and seconds² a mm of acceleration, by axis.
    Rest { slowness: [f64; 2], inertia: [f64; 2] },
}

/// Nodes, numbered so that neighbours in space are neighbours in memory, and what a move costs.
///
/// The last node is the one the bound sets apart: the park point, or the free end of an open
/// order. A free end is a place that is not a number: every move to it costs 0, because a
/// conversion from NaN to a whole number gives 0.
#[derive(Clone, Debug)]
pub(super) struct Net {
    pub xy: Vec<Place>,
    /// The other end of the fixed edge (a stroke, drawn whole) or [`NONE`].
    pub mate: Vec<u32>,
    /// Rank of every node times the price of a step between ranks; empty when there are none.
    pub rank: Vec<i64>,
    /// Added to every move from one spot to another: lifting the pen and putting it down.
    pub lift: i64,
    measure: Measure,
    pub scale: f64,
    /// The price of going from one rank to the next: more than any one exchange could gain.
    pub step: i64,
    wide: Wide,
}

/// Nodes that stand at no one place: loops that may be entered at any of their points, and left at
/// any other. What going to one costs is the least over its points, from a table.
#[derive(Clone, Debug)]
struct Wide {
    /// The first of them; all nodes after it stand in the table, the last one too.
    from: u32,
    /// What it costs from each of them to every node.
    cost: Vec<i64>,
}

const NOT_WIDE: Wide = Wide { from: NONE, cost: Vec::new() };

/// The rank of a node that stands outside all groups: the park place or the free end.
pub(super) const UNRANKED: i64 = i64::MIN;

impl Cost {
    /// From one place to another, in mm or s.
    pub fn between(&self, from: Place, to: Place) -> f64 {
        self.across([(from[0] - to[0]).abs(), (from[1] - to[1]).abs()])
    }

    /// The largest cost between two places of a box this wide and high, in mm or s.
    fn across(&self, size: Place) -> f64 {
        Net::bare(self, 1.0).real(size[0], size[1])
    }
}

impl Net {
    fn bare(cost: &Cost, scale: f64) -> Net {
        let measure = match *cost {
            Cost::Distance | Cost::Nint => Measure::Straight,
            Cost::Time { rapid, acceleration } => Measure::Rest {
                slowness: [60.0 / rapid[0], 60.0 / rapid[1]],
                inertia: [1.0 / acceleration[0], 1.0 / acceleration[1]],
            },
        };
        Net {
            xy: Vec::new(),
            mate: Vec::new(),
            rank: Vec::new(),
            lift: 0,
            measure,
            scale,
            step: 0,
            wide: NOT_WIDE,
        }
    }

    /// An empty network whose unit is fine enough to tell places apart and coarse enough that no
    /// sum overflows: the largest move within `places` is below 2^36 units, the unit never finer
    /// than 2^-20 (about a nanometre, a microsecond's millionth part), and a power of two, so that
    /// scaling is exact. `Nint` counts whole millimetres, whatever their number.
    pub fn new(places: &[Place], cost: &Cost) -> Result<Net, Unorderable> {
        if let Cost::Time { rapid, acceleration } = cost {
            let usable = |v: f64| v.is_finite() && (1e-6..=1e9).contains(&v);
            if !rapid.iter().chain(acceleration).all(|&v| usable(v)) {
                return Err(Unorderable::NoMotion);
            }
        }
        let mut low = [f64::INFINITY; 2];
        let mut high = [f64::NEG_INFINITY; 2];
        for (index, place) in places.iter().enumerate() {
            for axis in 0..2 {
                if !place[axis].is_finite() {
                    return Err(Unorderable::NotANumber { index });
                }
                if place[axis].abs() > super::FARTHEST {
                    return Err(Unorderable::TooFar { index });
                }
                low[axis] = low[axis].min(place[axis]);
                high[axis] = high[axis].max(place[axis]);
            }
        }
        let mut scale = 1.0;
        if !matches!(cost, Cost::Nint) && !places.is_empty() {
            let across = cost.across([high[0] - low[0], high[1] - low[1]]);
            scale = (1u64 << 20) as f64;
            while across * scale >= (1u64 << 36) as f64 {
                scale /= 2.0;
            }
        }
        let mut net = Net::bare(cost, scale);
        if !places.is_empty() {
            net.step = 8 * net.span(high[0] - low[0], high[1] - low[1]) + 8;
        }
        Ok(net)
    }

    /// A network of the same costs without nodes.
    pub fn clone_bare(&self) -> Net {
        Net { xy: Vec::new(), mate: Vec::new(), rank: Vec::new(), wide: NOT_WIDE, ..*self }
    }

    /// Gives the nodes ranks from 0; those beyond stand outside.
    pub fn set_ranks(&mut self, rank: &[i64]) {
        self.rank = rank.iter().map(|r| r * self.step).collect();
        self.rank.resize(self.xy.len(), UNRANKED);
    }

    /// Makes the nodes from `from` on wide: `cost` holds, for each of them, what it costs to every node.
    pub fn set_wide(&mut self, from: usize, cost: Vec<i64>) {
        assert_eq!(
            cost.len(),
            (self.len() - from) * self.len(),
            "a row for each, a column for all"
        );
        self.wide = Wide { from: from as u32, cost };
    }

    /// The nodes that stand at one place, but for the last: those a tree of places may hold.
    pub fn narrow(&self) -> usize {
        (self.len() - 1).min(self.wide.from as usize)
    }

    /// What lifting the pen costs, in the cost's own measure.
    pub fn set_lift(&mut self, lift: f64) {
        self.lift = (lift * self.scale).min((1i64 << 36) as f64) as i64;
    }

    pub fn len(&self) -> usize {
        self.xy.len()
    }

    /// The cost of a move by `dx`, `dy` (neither negative), in mm or s.
    ///
    /// Rest to rest: a straight move is limited along its path by the axis that is slowest for its
    /// share of it, so with m = max |d_i|/v_i and q = max |d_i|/a_i the time is m + q/m when full
    /// speed is reached (q ≤ m²), else 2·√q. It never falls when |dx| or |dy| grows.
    #[inline(always)]
    pub fn real(&self, dx: f64, dy: f64) -> f64 {
        match &self.measure {
            Measure::Straight => (dx * dx + dy * dy).sqrt(),
            Measure::Rest { slowness, inertia } => {
                let m = (dx * slowness[0]).max(dy * slowness[1]);
                let q = (dx * inertia[0]).max(dy * inertia[1]);
                if q < m * m { m + q / m } else { 2.0 * q.sqrt() }
            }
        }
    }

    /// The whole-number cost of a move by `dx`, `dy`, to the nearest unit.
    #[inline(always)]
    pub fn span(&self, dx: f64, dy: f64) -> i64 {
        (self.real(dx, dy) * self.scale + 0.5) as i64
    }

    /// The whole-number cost of going from `a` to `b`.
    #[inline(always)]
    pub fn cost(&self, a: u32, b: u32) -> i64 {
        if a >= self.wide.from || b >= self.wide.from {
            let row = (a.max(b) - self.wide.from) as usize;
            return self.wide.cost[row * self.len() + a.min(b) as usize];
        }
        let (p, q) = (self.xy[a as usize], self.xy[b as usize]);
        let mut plain = self.span((p[0] - q[0]).abs(), (p[1] - q[1]).abs());
        if plain > 0 {
            plain += self.lift;
        }
        if !self.rank.is_empty() {
            let (p, q) = (self.rank[a as usize], self.rank[b as usize]);
            if p != UNRANKED && q != UNRANKED {
                plain += (p - q).abs();
            }
        }
        plain
    }

    /// Whether the edge between `a` and `b` is a stroke, which no order may break.
    #[inline(always)]
    pub fn fixed(&self, a: u32, b: u32) -> bool {
        !self.mate.is_empty() && self.mate[a as usize] == b
    }

    /// What a cyclic tour costs.
    pub fn length(&self, tour: &[u32]) -> i64 {
        let mut sum = 0;
        for (i, &a) in tour.iter().enumerate() {
            sum += self.cost(a, tour[(i + 1) % tour.len()]);
        }
        sum
    }
}
