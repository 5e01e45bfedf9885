//! Cells between the pleats: diamonds, bays, flutes, and the border along the edge.

use super::{At, Lattice, Panel, Ray, STEP, distance, plus};
use crate::{
    job::PatternKind,
    outline::Foot,
    show::html::{mm, place},
};
use std::collections::{BTreeMap, BTreeSet};

impl Panel<'_> {
    pub(super) fn cells(&mut self, rays: &[Ray]) {
        let closed = self.layout.fitted.all_round().is_some();
        if self.layout.fitted.kind == PatternKind::Single || closed {
            for face in self.faces() {
                self.domed(&face);
            }
        }
        if self.layout.fitted.kind == PatternKind::Flutes {
            for flute in self.flutes(rays) {
                self.domed(&flute);
            }
            return;
        }
        for i in 0..rays.len() {
            let (a, b) = (&rays[i], &rays[(i + 1) % rays.len()]);
            self.domed(&self.border_cell(a, b));
        }
        let corners: [Lattice; 3] = match self.layout.fitted.kind {
            PatternKind::Diamond if !closed => [[1, 2], [2, 0], [1, -2]],
            PatternKind::Square => [[2, 0], [2, -2], [0, -2]],
            PatternKind::Diamond | PatternKind::Flutes | PatternKind::Single => return,
        };
        let cell = |(&button, &at): (&Lattice, &At)| {
            let others = corners.map(|step| self.there.get(&plus(button, step)).copied());
            let [Some(b), Some(c), Some(d)] = others else { return None };
            Some([at, b, c, d])
        };
        let whole: Vec<[At; 4]> = self.there.iter().filter_map(cell).collect();
        let pitch = [self.layout.fitted.width / 2.0, self.layout.fitted.row_gap() / 2.0];
        for points in whole {
            let alike = points[1..].iter().zip(corners).all(|(&at, step)| {
                let there = [0, 1].map(|i| points[0][i] + f64::from(step[i]) * pitch[i]);
                distance(at, there) < 0.01
            });
            match alike {
                true => self.put(format_args!(
                    "<use href=\"#cell\" x=\"{}\" y=\"{}\"/>",
                    mm(points[0][0]),
                    mm(-points[0][1])
                )),
                false => self.domed(&points),
            }
        }
    }

    /// The channels from the left to the right, each from the lower edge to the upper.
    fn flutes(&self, rays: &[Ray]) -> Vec<Vec<At>> {
        let mut grooves: BTreeMap<i32, [Option<Foot>; 2]> = BTreeMap::new();
        for ray in rays {
            let end = usize::from(ray.foot.at[1] > ray.from[1]);
            grooves.entry(ray.button[0]).or_default()[end] = Some(ray.foot);
        }
        // A groove whose end is another's too bounds no flute of its own.
        let grooves: Vec<[Foot; 2]> =
            grooves.into_values().filter_map(|[low, high]| Some([low?, high?])).collect();
        let [Some(first), Some(last)] = [grooves.first(), grooves.last()] else {
            return Vec::new();
        };
        let along = |from: Foot, to: Foot| {
            let mut points = vec![from.at];
            points.extend(self.layout.outline.between(from, to, STEP));
            points.push(to.at);
            points
        };
        let mut flutes = vec![along(first[1], first[0])];
        flutes.extend(grooves.windows(2).map(|pair| {
            let [left, right] = [pair[0], pair[1]];
            let mut flute = along(left[0], right[0]);
            flute.extend(along(right[1], left[1]));
            flute
        }));
        flutes.push(along(last[0], last[1]));
        flutes
    }

    /// The cells between pleats that run no regular way, each once round: from a button to a
    /// neighbour, and on along the next pleat to the right, until it closes.
    fn faces(&self) -> Vec<Vec<At>> {
        let mut walked: BTreeSet<[Lattice; 2]> = BTreeSet::new();
        let mut faces = Vec::new();
        for &from in self.there.keys() {
            for &to in self.neighbours(from) {
                let mut face = Vec::new();
                let mut side = [from, to];
                while walked.insert(side) {
                    face.push(self.there[&side[0]]);
                    side = [side[1], self.next_right(side)];
                }
                let twice: f64 = (0..face.len())
                    .map(|i| (face[i], face[(i + 1) % face.len()]))
                    .map(|(a, b): (At, At)| a[0] * b[1] - a[1] * b[0])
                    .sum();
                // The way round the outside turns the other way.
                if twice > 1e-6 {
                    faces.push(face);
                }
            }
        }
        faces
    }

    /// Of the pleats at the end of a side the first one clockwise from the way back.
    fn next_right(&self, [from, at]: [Lattice; 2]) -> Lattice {
        let angle = |to: Lattice| {
            let (a, b) = (self.there[&at], self.there[&to]);
            libm::atan2(b[1] - a[1], b[0] - a[0])
        };
        let back = angle(from);
        let turned = |to: &Lattice| match (back - angle(*to)).rem_euclid(std::f64::consts::TAU) {
            0.0 => std::f64::consts::TAU,
            turned => turned,
        };
        let beside = self.neighbours(at).iter().copied();
        let first = beside.min_by(|a, b| turned(a).total_cmp(&turned(b)));
        first.expect("one comes from a neighbour")
    }

    /// A cell of a shape of its own.
    fn domed(&mut self, points: &[At]) {
        let points: Vec<String> = points.iter().copied().map(place).collect();
        let path = format!("M{}Z", points.join("L"));
        self.put(format_args!(
            "<path d=\"{path}\" fill=\"url(#dome)\"/><path d=\"{path}\" fill=\"url(#lit)\"/>"
        ));
    }

    /// The cell between two neighbouring outward pleats: along the edge, round its corners, and back
    /// over the buttons.
    fn border_cell(&self, a: &Ray, b: &Ray) -> Vec<At> {
        let mut points = vec![a.from, a.foot.at];
        points.extend(self.layout.outline.between(a.foot, b.foot, STEP));
        points.extend([b.foot.at, b.from]);
        points.extend(self.chain(b.button, a.button));
        points
    }

    /// The buttons from one to the next along the border, without the two themselves: of all ways from
    /// neighbour to neighbour the one that keeps nearest to the outline.
    fn chain(&self, from: Lattice, to: Lattice) -> Vec<At> {
        let mut best: BTreeMap<Lattice, (i64, Lattice)> = BTreeMap::from([(from, (0, from))]);
        let mut open = BTreeSet::from([(0, from)]);
        while let Some((so_far, here)) = open.pop_first() {
            if here == to {
                break;
            }
            for &next in self.neighbours(here) {
                let Some(&depth) = self.depths.get(&next) else { continue };
                let cost = so_far + depth;
                if best.get(&next).is_none_or(|&(known, _)| cost < known) {
                    best.insert(next, (cost, here));
                    open.insert((cost, next));
                }
            }
        }
        let mut points = Vec::new();
        let mut here = to;
        while let Some(&(_, before)) = best.get(&here).filter(|_| here != from) {
            if here != to {
                points.push(self.there[&here]);
            }
            here = before;
        }
        points.reverse();
        points
    }
}
