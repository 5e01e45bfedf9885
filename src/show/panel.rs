//! The finished panel: domed cells, pleats and buttons, with its dimensions.
//!
//! The picture is a likeness: where buttons are is exact, how the cloth swells is not.

mod cells;

use super::{
    drawing::{self, Anchor, Drawing, Letters, Shape, Stand, Style, Turn, Words},
    html::{escape, mm, place},
};
use crate::{
    job::{AreaKind, Job, PatternKind},
    layout::{Button, Cleared, EdgePleat, Layout},
    outline::{self, Foot},
    words::{count, length, other},
};
use kurbo::{BezPath, Rect};
use std::{collections::BTreeMap, fmt::Write};

/// Steps on the lattice, in half-columns right and half row gaps up.
type Lattice = [i32; 2];
type At = [f64; 2];

/// The picture as SVG; its colours are named in `pictures.css`.
pub fn picture(job: &Job, layout: &Layout) -> String {
    Panel::new(job, layout).draw()
}

/// The same panel in lines, with the buttons' names: for paper.
pub fn lines(job: &Job, layout: &Layout) -> Drawing {
    let panel = Panel::new(job, layout);
    let mut drawing = panel.blank("flat-panel");
    let mut outline = layout.outline.path().clone();
    outline.close_path();
    drawing.path(Style::Panel, outline);
    let mut folds = BezPath::new();
    for fold in panel.folds(&panel.rays()) {
        drawing::polyline(&mut folds, &fold);
    }
    drawing.path(Style::Pleat, folds);
    let (diameter, places) = (job.button_diameter, panel.there.values().copied().collect());
    drawing.shapes.push(Shape::Dots { style: Style::Button, diameter, places });
    let size = (layout.fitted.width / 4.5).min(panel.letter * 0.85);
    let name = |b: &Button| ([b.at.x, b.at.y - diameter / 2.0 - size * 0.95], b.name.to_string());
    drawing.shapes.push(Shape::Words(Words {
        style: Style::Name,
        size,
        anchor: Anchor::Middle,
        turn: Turn::Level,
        stand: Stand::Baseline,
        words: layout.buttons.iter().map(name).collect(),
    }));
    for area in &layout.areas {
        let style = match area.kind {
            AreaKind::Opening => Style::Rim,
            AreaKind::KeepOut => Style::Centre,
        };
        drawing.path(style, outline::path(&area.corners));
    }
    panel.dimensions(&mut drawing);
    if !layout.areas.is_empty() {
        panel.reasons(&mut drawing);
    }
    drawing
}

struct Panel<'a> {
    job: &'a Job,
    layout: &'a Layout,
    /// Buttons by place on the lattice.
    there: BTreeMap<Lattice, At>,
    /// The buttons that a pleat or groove joins to each.
    beside: BTreeMap<Lattice, Vec<Lattice>>,
    /// How far inside the outline each button is, µm.
    depths: BTreeMap<Lattice, i64>,
    half: [f64; 2],
    /// Height of the dimensions' letters.
    letter: f64,
    svg: String,
}

/// A pleat that runs from an outside button to the edge, which it meets at a right angle.
struct Ray {
    button: Lattice,
    from: At,
    foot: Foot,
}

/// Steps in which a curved edge is drawn, mm.
const STEP: f64 = 8.0;

impl<'a> Panel<'a> {
    fn new(job: &'a Job, layout: &'a Layout) -> Self {
        let at = |b: &Button| (b.lattice, [b.at.x, b.at.y]);
        let depth = |b: &Button| (b.lattice, (layout.outline.depth(b.at) * 1000.0).round() as i64);
        let half = [layout.outline.width() / 2.0, layout.outline.height() / 2.0];
        let letter = half[0].max(half[1]) / 22.0;
        let mut beside: BTreeMap<Lattice, Vec<Lattice>> = BTreeMap::new();
        for pleat in layout.pleats() {
            let [a, b] = pleat.map(|i| layout.buttons[i].lattice);
            beside.entry(a).or_default().push(b);
            beside.entry(b).or_default().push(a);
        }
        Panel {
            job,
            layout,
            there: layout.buttons.iter().map(at).collect(),
            beside,
            depths: layout.buttons.iter().map(depth).collect(),
            half,
            letter,
            svg: String::new(),
        }
    }

    fn put(&mut self, text: std::fmt::Arguments) {
        self.svg.write_fmt(text).expect("a string takes all that is written");
    }

    /// The sheet to draw on, with room for dimensions.
    fn blank(&self, id: &str) -> Drawing {
        let ([hw, hh], t) = (self.half, self.letter);
        Drawing {
            id: id.to_string(),
            class: "panel",
            described: format!(
                "{}: the finished panel with {}",
                self.job.title,
                count(self.layout.buttons.len(), "button", "buttons")
            ),
            window: Rect::new(-hw - 8.5 * t, -hh - 8.0 * t, hw + 6.5 * t, hh + 5.5 * t),
            letter: t,
            shapes: Vec::new(),
        }
    }

    fn draw(mut self) -> String {
        let mut sizes = self.blank("panel");
        self.dimensions(&mut sizes);
        if !self.layout.areas.is_empty() {
            self.reasons(&mut sizes);
        }
        let (t, window) = (self.letter, sizes.window);
        self.put(format_args!(
            "<svg class=\"panel\" role=\"img\" aria-label=\"{}\" viewBox=\"{} {} {} {}\" style=\"--letter:{}px\">",
            escape(&sizes.described),
            mm(window.x0),
            mm(-window.y1),
            mm(window.width()),
            mm(window.height()),
            mm(t)
        ));
        self.definitions();
        let outline = (kurbo::Affine::FLIP_Y * self.layout.outline.path()).to_svg();
        let shadow = t * 0.35;
        self.put(format_args!(
            "<path class=\"cast\" d=\"{outline}\" transform=\"translate({0} {1})\"/>\
             <path class=\"cast\" d=\"{outline}\" transform=\"translate({2} {3})\"/>\
             <g clip-path=\"url(#edge)\"><path class=\"cloth\" d=\"{outline}\"/>",
            mm(shadow * 0.5),
            mm(shadow),
            mm(shadow),
            mm(shadow * 2.0)
        ));
        let rays = self.rays();
        self.cells(&rays);
        self.pleats(&rays);
        self.rim(&outline);
        self.buttons();
        self.put(format_args!("</g>"));
        self.cut_out();
        self.svg.push_str(&sizes.svg_shapes());
        self.svg.push_str("</svg>");
        self.svg
    }

    fn definitions(&mut self) {
        let outline = (kurbo::Affine::FLIP_Y * self.layout.outline.path()).to_svg();
        let (w, h) = (self.layout.fitted.width, self.layout.fitted.height);
        let r = self.job.button_diameter / 2.0;
        // One whole cell from its left (diamond) or upper left (square) button.
        let cell = match self.layout.fitted.kind {
            PatternKind::Diamond => {
                format!("M0 0L{} {}L{} 0L{0} {}Z", mm(w / 2.0), mm(-h / 2.0), mm(w), mm(h / 2.0))
            }
            _ => format!("M0 0H{}V{}H0Z", mm(w), mm(h)),
        };
        self.put(format_args!(
            "<defs><clipPath id=\"edge\"><path d=\"{outline}\"/></clipPath>\
             <radialGradient id=\"dome\" cx=\".48\" cy=\".4\" r=\".6\"><stop class=\"crown\"/>\
             <stop class=\"flank\" offset=\".55\"/><stop class=\"valley\" offset=\"1\"/></radialGradient>\
             <linearGradient id=\"lit\" x2=\".25\" y2=\"1\"><stop class=\"sky\"/><stop class=\"clear\" offset=\".42\"/>\
             <stop class=\"clear\" offset=\".58\"/><stop class=\"shade\" offset=\"1\"/></linearGradient>\
             <radialGradient id=\"well\"><stop class=\"deep\" offset=\".3\"/><stop class=\"clear\" offset=\"1\"/></radialGradient>\
             <radialGradient id=\"cap\" cx=\".38\" cy=\".32\" r=\".75\"><stop class=\"gleam\"/>\
             <stop class=\"top\" offset=\".35\"/><stop class=\"brim\" offset=\"1\"/></radialGradient>\
             <g id=\"cell\"><path d=\"{cell}\" fill=\"url(#dome)\"/><path d=\"{cell}\" fill=\"url(#lit)\"/></g>\
             <g id=\"button\"><circle r=\"{}\" fill=\"url(#well)\"/><circle class=\"under\" cy=\"{}\" r=\"{}\"/>\
             <circle r=\"{3}\" fill=\"url(#cap)\"/></g></defs>",
            mm(r * 2.6),
            mm(r * 0.22),
            mm(r * 1.06),
            mm(r)
        ));
    }

    /// Outward pleats, in order along the outline.
    fn rays(&self) -> Vec<Ray> {
        let ray = |pleat: &EdgePleat| {
            let button = &self.layout.buttons[pleat.button];
            Ray { button: button.lattice, from: [button.at.x, button.at.y], foot: pleat.foot }
        };
        self.layout.edge_pleats.iter().map(ray).collect()
    }

    /// The buttons that a pleat or groove joins to this one.
    fn neighbours(&self, button: Lattice) -> &[Lattice] {
        self.beside.get(&button).map_or(&[], Vec::as_slice)
    }

    /// Every pleat once: from button to button, and out to the edge.
    fn folds(&self, rays: &[Ray]) -> Vec<[At; 2]> {
        let place = |i: usize| self.there[&self.layout.buttons[i].lattice];
        let mut folds: Vec<[At; 2]> =
            self.layout.pleats().into_iter().map(|pleat| pleat.map(place)).collect();
        folds.extend(rays.iter().map(|ray| [ray.from, ray.foot.at]));
        folds
    }

    /// Each pleat several times, ever narrower and darker, with a lit lip below the fold.
    fn pleats(&mut self, rays: &[Ray]) {
        let mut path = String::new();
        for [from, to] in self.folds(rays) {
            let _ = write!(path, "M{}L{}", place(from), place(to));
        }
        self.put(format_args!("<defs><path id=\"pleats\" d=\"{path}\"/></defs>"));
        let w = self.layout.fitted.width;
        for (class, width, drop) in
            [("soft", 0.11, 0.0), ("near", 0.05, 0.0), ("lip", 0.014, 0.018), ("fold", 0.014, 0.0)]
        {
            self.put(format_args!(
                "<use href=\"#pleats\" class=\"pleat {class}\" stroke-width=\"{}\" y=\"{}\"/>",
                mm(w * width),
                mm(w * drop)
            ));
        }
    }

    /// The cloth rolls off over the edge of the foam.
    fn rim(&mut self, outline: &str) {
        let roll = self.job.foam.thickness.min(self.layout.nearest_edge);
        for (class, width) in [("wide", 1.0), ("mid", 0.55), ("thin", 0.2)] {
            self.put(format_args!(
                "<path class=\"rim {class}\" d=\"{outline}\" stroke-width=\"{}\"/>",
                mm(roll * width)
            ));
        }
    }

    fn buttons(&mut self) {
        // A groove is tied from behind.
        if self.layout.fitted.kind == PatternKind::Flutes {
            return;
        }
        for at in self.there.values().copied().collect::<Vec<_>>() {
            self.put(format_args!(
                "<use href=\"#button\" x=\"{}\" y=\"{}\"/>",
                mm(at[0]),
                mm(-at[1])
            ));
        }
    }

    /// Openings as holes through to the wall, keep-outs as dashed lines.
    fn cut_out(&mut self) {
        for area in &self.layout.areas {
            let path = (kurbo::Affine::FLIP_Y * outline::path(&area.corners)).to_svg();
            let class = match area.kind {
                AreaKind::Opening => "opening",
                AreaKind::KeepOut => "keep-out",
            };
            self.put(format_args!("<path class=\"{class}\" d=\"{path}\"/>"));
        }
    }

    /// What is at each opening and keep-out.
    fn reasons(&self, drawing: &mut Drawing) {
        let below = |area: &Cleared| {
            let bounds = outline::bounds(&area.corners);
            ([bounds.center().x, bounds.y0 - 0.9 * self.letter], area.reason.clone())
        };
        drawing.shapes.push(Shape::Words(Words {
            style: Style::Size,
            size: self.letter,
            anchor: Anchor::Middle,
            turn: Turn::Level,
            stand: Stand::Middle,
            words: self.layout.areas.iter().map(below).collect(),
        }));
    }

    fn dimensions(&self, drawing: &mut Drawing) {
        let ([hw, hh], t) = (self.half, self.letter);
        let both = &|mm| self.both(mm);
        let buttons: Vec<At> = self.there.values().copied().collect();
        let extreme = |axis: usize| {
            let along = buttons.iter().map(|at| at[axis]);
            (along.clone().fold(f64::INFINITY, f64::min), along.fold(f64::NEG_INFINITY, f64::max))
        };
        let ((west, _), (south, north)) = (extreme(0), extreme(1));
        drawing.across([-hw, hw], -hh - 5.2 * t, Letters::On, both);
        drawing.up([-hh, hh], -hw - 5.6 * t, Letters::On, both);
        drawing.across([-hw, west], -hh - 2.0 * t, Letters::Beside, both);
        // Two sizes on one line: in one unit, where both would run into each other.
        let (above, below) = ([north, hh], [-hh, south]);
        let long = |[from, to]: [f64; 2]| both(to - from).chars().count() as f64 * 0.55 * t;
        let one_unit = &|mm| length(mm, self.job.unit);
        let tight = long(above) + long(below) > north - south - 2.0 * t;
        let uneven = (north + south).abs() > 0.05;
        let says: &dyn Fn(f64) -> String = if uneven && tight { one_unit } else { both };
        drawing.up(above, -hw - 2.4 * t, Letters::Beside, says);
        let level = self.layout.fitted.fan.is_none() && !self.has_no_rows();
        if uneven {
            drawing.up(below, -hw - 2.4 * t, Letters::Beside, says);
        }
        if self.layout.fitted.kind == PatternKind::Single {
            return;
        }
        // On a fan only two that stand level are as far apart as the line shows.
        let level_pair =
            |[a, b]: &[At; 2]| self.layout.fitted.fan.is_none() || (a[1] - b[1]).abs() < 0.01;
        let top = self.pair([2, 0], |at| [at[1], -at[0].abs()]);
        if let Some([a, b]) = top.filter(level_pair) {
            drawing.line(Style::Guide, &[a, [a[0], hh + 2.4 * t]]);
            drawing.line(Style::Guide, &[b, [b[0], hh + 2.4 * t]]);
            drawing.across([a[0], b[0]], hh + 2.4 * t, Letters::On, both);
        }
        let tall = match self.layout.fitted.kind {
            PatternKind::Diamond => [0, 4],
            _ => [0, 2],
        };
        if !level {
            return;
        }
        if let Some([a, b]) = self.pair(tall, |at| [at[0], -at[1].abs()]) {
            drawing.line(Style::Guide, &[a, [hw + 2.6 * t, a[1]]]);
            drawing.line(Style::Guide, &[b, [hw + 2.6 * t, b[1]]]);
            drawing.up([a[1], b[1]], hw + 2.6 * t, Letters::On, both);
        }
    }

    fn has_no_rows(&self) -> bool {
        matches!(self.layout.fitted.kind, PatternKind::Flutes | PatternKind::Single)
    }

    /// The two buttons a step apart that `best` ranks highest.
    fn pair(&self, step: Lattice, best: impl Fn(At) -> [f64; 2]) -> Option<[At; 2]> {
        let pairs =
            self.there.iter().filter_map(|(&b, &at)| Some([at, *self.there.get(&plus(b, step))?]));
        let middle = |[a, b]: &[At; 2]| best([(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0]);
        pairs.max_by(|p, q| middle(p).partial_cmp(&middle(q)).expect("places are finite"))
    }

    fn both(&self, mm: f64) -> String {
        let unit = self.job.unit;
        format!("{} · {}", length(mm, unit), length(mm, other(unit)))
    }
}

fn plus(a: Lattice, b: Lattice) -> Lattice {
    [a[0] + b[0], a[1] + b[1]]
}

fn distance(a: At, b: At) -> f64 {
    let [x, y] = [a[0] - b[0], a[1] - b[1]];
    (x * x + y * y).sqrt()
}
