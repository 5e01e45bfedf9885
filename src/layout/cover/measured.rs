//! What a fan's cover is longer by, measured between its buttons: on a fan no two rows are alike, nor, where the
//! outline is not round, two rays.

use super::{
    allowance::{Bounds, reach},
    spread::Wanted,
};
use crate::{
    frame::{CoverFront, Point},
    layout::{Button, Name},
};
use std::collections::BTreeMap;

/// Steps to a button's neighbours along its row, a whole diamond inwards, and along its pleats.
const ALONG: [[i32; 2]; 1] = [[2, 0]];
const INWARDS: [[i32; 2]; 1] = [[0, -4]];
const PLEATS: [[i32; 2]; 2] = [[1, -2], [-1, -2]];

/// All pairs of neighbours in one direction.
pub struct Measured {
    /// The least and the most by which the cover is longer.
    pub ends: [f64; 2],
    /// How deep it reaches everywhere.
    pub reach: f64,
    /// Of the two that are nearest to being too short, or the most so.
    pub bounds: Bounds,
    pub tightest: Tightest,
}

/// Two neighbours, and by what the cover between them is longer.
#[derive(Debug, Clone, Copy)]
pub struct Tightest {
    pub names: [Name; 2],
    pub allowance: f64,
}

/// Along rows, down diamonds, along pleats; nothing where there are no such neighbours.
pub fn measured(
    wanted: &Wanted,
    buttons: &[Button],
    at: &[Point<CoverFront>],
    depth: f64,
) -> [Option<Measured>; 3] {
    let there: BTreeMap<[i32; 2], usize> =
        buttons.iter().enumerate().map(|(i, b)| (b.lattice, i)).collect();
    // On the cloth as it lies stretched over the panel.
    let taut = |i: usize| {
        Point::<CoverFront>::new(
            at[i].x / wanted.stretched(0, 1.0),
            at[i].y / wanted.stretched(1, 1.0),
        )
    };
    // What reaches over the innermost row to the centre is the middle's own matter.
    let centre = wanted.fitted.fan.and_then(|rays| rays.at_centre(wanted.fitted.rows));
    let in_steps = |steps: &[[i32; 2]]| {
        let pairs = there.iter().flat_map(|(&from, &a)| {
            let others = steps.iter().map(move |step| wanted.fitted.beside(from, *step));
            let others = others.filter(|to| *steps != INWARDS || Some(*to) != centre);
            others.filter_map(|to| there.get(&to)).map(move |&b| (a, b)).collect::<Vec<_>>()
        });
        let mut found: Option<Measured> = None;
        for (a, b) in pairs.filter(|(a, b)| a != b) {
            let [panel, cloth] = [buttons[a].at.distance(buttons[b].at), taut(a).distance(taut(b))];
            let (allowance, bounds) = (cloth - panel, Bounds::of(panel, depth));
            let pair = Measured {
                ends: [allowance; 2],
                reach: reach(panel, cloth),
                bounds,
                tightest: Tightest { names: [a, b].map(|i| buttons[i].name), allowance },
            };
            found = Some(match found {
                None => pair,
                Some(so_far) => so_far.and(pair),
            });
        }
        found
    };
    [in_steps(&ALONG), in_steps(&INWARDS), in_steps(&PLEATS)]
}

impl Measured {
    fn room(&self) -> f64 {
        self.tightest.allowance - self.bounds.least
    }

    fn and(self, other: Measured) -> Measured {
        let ends = [self.ends[0].min(other.ends[0]), self.ends[1].max(other.ends[1])];
        let reach = self.reach.min(other.reach);
        // A hair, so that of pairs that are alike the first is named.
        let tighter = if other.room() < self.room() - 1e-6 { other } else { self };
        Measured { ends, reach, ..tighter }
    }
}
