//! An outline from a DXF drawing: the lines and curves of one layer, joined end to end.
//!
//! Source of what the entities mean: the published DXF reference (from memory); drawings written by PyPI
//! `ezdxf` come in the same in `tests/outside.sh`.

use super::{Corner, Piece, pairs, way::Way};
use crate::{
    diag::{Diagnostic, Given},
    form::either,
    units::Unit,
};
use dxf::{
    entities::{EntityType, Spline},
    enums::Units,
};
use std::{f64::consts::TAU, ops::Range, panic};

/// What is asked of a drawing.
pub struct Asked<'a> {
    pub file: &'a Given<String>,
    pub bytes: &'a [u8],
    pub layer: Option<&'a Given<String>>,
    pub unit: Option<&'a Given<Unit>>,
    /// Ends this near each other are joined, mm.
    pub gap: f64,
}

/// What is wrong, and what to do.
type Wrong = (String, String);

/// The one closed way on the layer, in millimetres.
pub fn outline(asked: &Asked) -> Result<Vec<Corner>, Vec<Diagnostic>> {
    let said = |wrong: Wrong| vec![Diagnostic::at(asked.file.span.clone(), wrong.0).help(wrong.1)];
    let (drawing, scale) = read(asked, &pairs::LINES, "outline")?;
    let mut ways = Vec::new();
    let mut wrong = Vec::new();
    for entity in drawing.entities() {
        match way(&entity.specific, scale) {
            Ok(found) => ways.extend(found),
            Err(message) => wrong.push(message),
        }
    }
    wrong.dedup();
    if let Some(message) = wrong.into_iter().next() {
        let help = "draw it again with lines and arcs, or trace it";
        return Err(said((message, help.to_string())));
    }
    joined(ways, asked.gap).map_err(said)
}

/// The middles of the circles and the points on the layer, in millimetres, as they lie in the drawing.
pub fn places(asked: &Asked) -> Result<Vec<[f64; 2]>, Vec<Diagnostic>> {
    let (drawing, scale) = read(asked, &pairs::PLACES, "circle or point")?;
    let place = |entity: &dxf::entities::Entity| match &entity.specific {
        EntityType::Circle(circle) => {
            // A circle drawn from behind has its own X to the left.
            let side = if circle.normal.z < 0.0 { -1.0 } else { 1.0 };
            Some([side * circle.center.x * scale, circle.center.y * scale])
        }
        EntityType::ModelPoint(point) => Some([point.location.x * scale, point.location.y * scale]),
        _ => None,
    };
    let found: Vec<[f64; 2]> = drawing.entities().filter_map(place).collect();
    if found.iter().flatten().any(|n| !n.is_finite()) {
        let message = "a place of the drawing is a number that is none";
        return Err(vec![
            Diagnostic::at(asked.file.span.clone(), message).help("draw that button again"),
        ]);
    }
    Ok(found)
}

/// The drawing, cut down to these kinds of entity on the layer, and how many millimetres one of its units is.
fn read(
    asked: &Asked,
    kinds: &[&str],
    wanted: &str,
) -> Result<(dxf::Drawing, f64), Vec<Diagnostic>> {
    let said = |span: &Range<usize>, (message, help): Wrong| {
        vec![Diagnostic::at(span.clone(), message).help(help)]
    };
    let file = &asked.file.span;
    let text = text(asked.bytes).map_err(|wrong| said(file, wrong))?;
    let layer = asked.layer.map(|layer| layer.value.as_str());
    let no_drawing = |why: String| (why, "save it as a DXF drawing in ASCII".to_string());
    let cut = pairs::cut(&text, layer, kinds).map_err(|why| said(file, no_drawing(why)))?;
    let layers: Vec<&str> = cut.layers.keys().map(String::as_str).collect();
    let is_outline = wanted == "outline";
    match (asked.layer, layers.as_slice()) {
        (_, []) => {
            let message = match is_outline {
                true => format!("nothing in `{}` is an outline{}", asked.file.value, but(&cut)),
                false => format!("nothing in `{}` is a {wanted}{}", asked.file.value, but(&cut)),
            };
            let help = match is_outline {
                true => {
                    "draw it with lines, arcs, circles, polylines, ellipses and splines, not in blocks"
                }
                false => "draw a circle or a point where each button stood, not in blocks",
            };
            return Err(said(file, (message, help.to_string())));
        }
        (None, [_, _, ..]) => {
            let whose = if is_outline { "the outline's" } else { "that of the old buttons" };
            let message = format!("the drawing has {} layers: name {whose}", layers.len());
            let names = layers.iter().map(|layer| format!("layer = \"{layer}\""));
            return Err(said(file, (message, format!("write {}", either(names)))));
        }
        (Some(named), _) if !layers.iter().any(|l| l.eq_ignore_ascii_case(&named.value)) => {
            let message =
                format!("the drawing has no {wanted} on a layer `{}`{}", named.value, but(&cut));
            return Err(said(
                &named.span,
                (message, format!("its layers are {}", layers.join(", "))),
            ));
        }
        _ => {}
    }
    let drawing = load(&cut.text).map_err(|why| said(file, no_drawing(why)))?;
    let scale = scale(asked, drawing.header.default_drawing_units)?;
    Ok((drawing, scale))
}

/// Names what was passed over.
fn but(cut: &pairs::Cut) -> String {
    let others: Vec<String> = cut.others.iter().map(|(kind, n)| format!("{n} {kind}")).collect();
    if others.is_empty() { String::new() } else { format!(" (passed over: {})", others.join(", ")) }
}

fn text(bytes: &[u8]) -> Result<String, Wrong> {
    if bytes.is_empty() {
        return Err(("the drawing is empty".to_string(), "save it again as DXF".to_string()));
    }
    if bytes.starts_with(b"AutoCAD Binary DXF") {
        let message = "the drawing is a binary DXF".to_string();
        return Err((message, "save it as DXF in ASCII".to_string()));
    }
    // Only names of layers hold other letters; older drawings have them in other code pages.
    Ok(String::from_utf8_lossy(bytes).into_owned())
}

/// Reads what is left. What the reader panics on is no drawing either.
fn load(text: &str) -> Result<dxf::Drawing, String> {
    let hook = panic::take_hook();
    panic::set_hook(Box::new(|_| {}));
    let read = panic::catch_unwind(|| {
        dxf::Drawing::load(&mut text.as_bytes())
            .map_err(|why| format!("the drawing cannot be read: {why}"))
    });
    panic::set_hook(hook);
    read.unwrap_or_else(|_| Err("the drawing cannot be read".to_string()))
}

fn scale(asked: &Asked, stated: Units) -> Result<f64, Vec<Diagnostic>> {
    let drawn = match stated {
        Units::Unitless => None,
        Units::Inches => Some(25.4),
        Units::Feet => Some(304.8),
        Units::Millimeters => Some(1.0),
        Units::Centimeters => Some(10.0),
        Units::Meters => Some(1000.0),
        _ => Some(f64::NAN),
    };
    let at = |span: &Range<usize>, message: &str, help: &str| {
        Err(vec![Diagnostic::at(span.clone(), message).help(help)])
    };
    match (drawn, asked.unit) {
        (Some(mm), Some(unit)) if mm != unit.value.mm() => at(
            &unit.span,
            "the drawing itself states another unit",
            "leave `units` out, or set the drawing right",
        ),
        (Some(mm), _) if mm.is_nan() => at(
            &asked.file.span,
            "the drawing is in a unit that no panel is measured in",
            "save it in millimetres or inches",
        ),
        (None, None) => at(
            &asked.file.span,
            "the drawing does not state its unit",
            "write units = \"mm\" or units = \"in\" beside `file`, whichever it was drawn in",
        ),
        (Some(mm), _) => Ok(mm),
        (None, Some(unit)) => Ok(unit.value.mm()),
    }
}

/// An entity as a way. `Err` says what cannot be followed.
fn way(entity: &EntityType, scale: f64) -> Result<Option<Way>, String> {
    let flipped = |normal: &dxf::Vector| match (normal.x, normal.y, normal.z) {
        (0.0, 0.0, z) if z > 0.0 => Ok(1.0),
        (0.0, 0.0, z) if z < 0.0 => Ok(-1.0),
        _ => Err("the outline does not lie flat in the drawing".to_string()),
    };
    let at = |x: f64, y: f64| [x * scale, y * scale];
    let found = match entity {
        EntityType::Line(line) => {
            let mut way = Way::from(at(line.p1.x, line.p1.y));
            way.line_to(at(line.p2.x, line.p2.y));
            way
        }
        EntityType::Arc(arc) => {
            let side = flipped(&arc.normal)?;
            let from = arc.start_angle.to_radians();
            let turn = (arc.end_angle - arc.start_angle).rem_euclid(360.0).to_radians();
            round([arc.center.x, arc.center.y], arc.radius, from, turn, side, scale)
        }
        EntityType::Circle(circle) => {
            let side = flipped(&circle.normal)?;
            round([circle.center.x, circle.center.y], circle.radius, 0.0, TAU, side, scale)
        }
        EntityType::LwPolyline(line) => {
            let side = flipped(&line.extrusion_direction)?;
            let corners = line.vertices.iter().map(|v| ([v.x, v.y], v.bulge));
            polyline(corners.collect(), line.is_closed(), side, scale)
        }
        EntityType::Polyline(line) => {
            let side = flipped(&line.normal)?;
            if line.flags & (16 | 64) != 0 {
                return Err("a polyline of the drawing is a mesh".to_string());
            }
            // Control points of a smoothed polyline are not on it.
            let on_it = line.vertices().filter(|v| v.flags & 16 == 0);
            let corners = on_it.map(|v| ([v.location.x, v.location.y], v.bulge));
            polyline(corners.collect(), line.is_closed(), side, scale)
        }
        EntityType::Ellipse(e) => {
            let side = flipped(&e.normal)?;
            let major = [e.major_axis.x, e.major_axis.y];
            let minor =
                [-side * major[1] * e.minor_axis_ratio, side * major[0] * e.minor_axis_ratio];
            let turn = match (e.end_parameter - e.start_parameter).rem_euclid(TAU) {
                turn if turn < 1e-9 => TAU,
                turn => turn,
            };
            let on_it = |share: f64| {
                let (sin, cos) = libm::sincos(e.start_parameter + share * turn);
                at(
                    e.center.x + major[0] * cos + minor[0] * sin,
                    e.center.y + major[1] * cos + minor[1] * sin,
                )
            };
            let mut way = Way::from(on_it(0.0));
            // Half by half: no curve ends where it begins.
            way.curve(&|share| on_it(share / 2.0));
            way.curve(&|share| on_it(0.5 + share / 2.0));
            way
        }
        EntityType::Spline(spline) => return spline_way(spline, scale).map(Some),
        _ => return Ok(None),
    };
    let finite =
        found.corners.iter().all(|c| c.bulge.is_finite() && c.at.iter().all(|n| n.is_finite()));
    if !finite {
        return Err("the drawing holds a number that is none".to_string());
    }
    Ok((!found.corners.is_empty()).then_some(found))
}

/// An arc, or a whole circle in two halves.
fn round(centre: [f64; 2], radius: f64, from: f64, turn: f64, side: f64, scale: f64) -> Way {
    let on_it = |angle: f64| {
        let (sin, cos) = libm::sincos(angle);
        [side * (centre[0] + radius * cos) * scale, (centre[1] + radius * sin) * scale]
    };
    let half = turn / 2.0;
    let bulge = side * libm::tan(half / 4.0);
    let mut way = Way::from(on_it(from));
    way.arc_to(bulge, on_it(from + half));
    way.arc_to(bulge, if turn == TAU { on_it(from) } else { on_it(from + turn) });
    way
}

fn polyline(corners: Vec<([f64; 2], f64)>, closed: bool, side: f64, scale: f64) -> Way {
    let at = |p: [f64; 2]| [side * p[0] * scale, p[1] * scale];
    let Some(&(first, _)) = corners.first() else { return Way::from([0.0, 0.0]) };
    let mut way = Way::from(at(first));
    for pair in corners.windows(2) {
        way.arc_to(side * pair[0].1, at(pair[1].0));
    }
    if closed {
        way.arc_to(side * corners[corners.len() - 1].1, at(first));
    }
    way
}

fn spline_way(spline: &Spline, scale: f64) -> Result<Way, String> {
    let (degree, n) = (spline.degree_of_curve, spline.control_points.len());
    let knots = &spline.knot_values;
    if n == 0 && !spline.fit_points.is_empty() {
        return Err("a spline of the drawing has no control points, only points it goes through"
            .to_string());
    }
    let sound = (1..=10).contains(&degree)
        && n > degree as usize
        && knots.len() == n + degree as usize + 1
        && knots.windows(2).all(|k| k[0] <= k[1])
        && knots.iter().all(|k| k.is_finite());
    let weights: Vec<f64> = match spline.weight_values.len() {
        0 => vec![1.0; n],
        _ => spline.weight_values.clone(),
    };
    let points: Vec<[f64; 3]> = spline
        .control_points
        .iter()
        .zip(&weights)
        .map(|(p, w)| [p.x * scale * w, p.y * scale * w, *w])
        .collect();
    if !sound
        || weights.len() != n
        || !points.iter().flatten().all(|n| n.is_finite())
        || weights.iter().any(|w| *w <= 0.0)
    {
        return Err("a spline of the drawing has bad knots or weights".to_string());
    }
    let p = degree as usize;
    let at = |u: f64, span: usize| de_boor(&points, knots, p, u, span);
    let spans: Vec<usize> = (p..n).filter(|&i| knots[i] < knots[i + 1]).collect();
    let Some(&first) = spans.first() else {
        return Err("a spline of the drawing has bad knots or weights".to_string());
    };
    let mut way = Way::from(at(knots[p], first));
    for span in spans {
        let (from, to) = (knots[span], knots[span + 1]);
        way.curve(&|share| at(from + share * (to - from), span));
    }
    Ok(way)
}

/// A point of a spline by de Boor's scheme (C. de Boor, "On calculating with B-splines", Journal of
/// Approximation Theory 6, 1972), with weights as a third coordinate.
fn de_boor(points: &[[f64; 3]], knots: &[f64], p: usize, u: f64, span: usize) -> [f64; 2] {
    let mut d: Vec<[f64; 3]> = (0..=p).map(|j| points[span - p + j]).collect();
    for r in 1..=p {
        for j in (r..=p).rev() {
            let i = span - p + j;
            let share = (u - knots[i]) / (knots[i + p - r + 1] - knots[i]);
            d[j] = [0, 1, 2].map(|k| d[j - 1][k] * (1.0 - share) + d[j][k] * share);
        }
    }
    [d[p][0] / d[p][2], d[p][1] / d[p][2]]
}

/// The one closed way that all of `ways` make.
fn joined(ways: Vec<Way>, gap: f64) -> Result<Vec<Corner>, Wrong> {
    let near = |a: [f64; 2], b: [f64; 2]| super::square(a, b) <= gap * gap;
    let place = |p: [f64; 2]| format!("{:.2}, {:.2} mm", p[0], p[1]);
    if let Some(at) = drawn_twice(&ways, gap) {
        let message = format!("something is drawn twice from {}", place(at));
        return Err((message, "take one of the two out of the drawing".to_string()));
    }
    // What is shorter than the gap is a dot.
    let long = |way: &Way| {
        way.corners.len() > 1
            || !near(way.corners[0].at, way.end)
            || way.corners[0].bulge.abs() > 1.0
    };
    let mut ways: Vec<Way> = ways.into_iter().filter(long).collect();
    if ways.is_empty() {
        return Err((
            "the drawing has no outline".to_string(),
            "draw it with lines and arcs".to_string(),
        ));
    }
    let mut way = ways.remove(0);
    let start = way.corners[0].at;
    let more_than_one = |at: [f64; 2]| {
        let message =
            format!("the layer holds more than one outline; a second is at {}", place(at));
        let help = "keep one on the layer; what is cut out of it is written as [[opening]]";
        (message, help.to_string())
    };
    while !near(way.end, start) {
        let mut ends = Vec::new();
        for (i, other) in ways.iter().enumerate() {
            ends.extend([(i, false, other.corners[0].at), (i, true, other.end)]);
        }
        let touching: Vec<_> = ends.iter().filter(|(_, _, at)| near(*at, way.end)).collect();
        match touching.as_slice() {
            [(i, backwards, _)] => {
                let (i, backwards) = (*i, *backwards);
                let next = ways.remove(i);
                let mut next = if backwards { turned(next) } else { next };
                // The gap closes here.
                next.corners[0].at = way.end;
                way.corners.extend(next.corners);
                way.end = next.end;
            }
            [] => {
                let square = |p: &[f64; 2]| super::square(*p, way.end);
                let all = ends.iter().map(|(_, _, at)| *at).chain([start]);
                let nearest = all.min_by(|a, b| square(a).total_cmp(&square(b)));
                let nearest = nearest.expect("the start is among them");
                let message = format!(
                    "the outline is open at {}: the nearest other end is {:.2} mm away",
                    place(way.end),
                    square(&nearest).sqrt()
                );
                return Err((
                    message,
                    format!("close it in the drawing, or write a larger `gap` than {gap} mm"),
                ));
            }
            _ => {
                let message = format!("more than two ends meet at {}", place(way.end));
                return Err((
                    message,
                    "an outline goes round once; put all else on another layer".to_string(),
                ));
            }
        }
    }
    match ways.first() {
        Some(other) => Err(more_than_one(other.corners[0].at)),
        None => Ok(way.corners),
    }
}

fn turned(way: Way) -> Way {
    let n = way.corners.len();
    let ends: Vec<[f64; 2]> = way.corners.iter().skip(1).map(|c| c.at).chain([way.end]).collect();
    let corners = (0..n).rev().map(|i| Corner { at: ends[i], bulge: -way.corners[i].bulge });
    Way { corners: corners.collect(), end: way.corners[0].at }
}

/// Where two single lines or arcs have the same ends and the same middle.
fn drawn_twice(ways: &[Way], gap: f64) -> Option<[f64; 2]> {
    let near = |a: [f64; 2], b: [f64; 2]| super::square(a, b) <= gap * gap;
    let single: Vec<(Piece, [f64; 2])> = ways
        .iter()
        .flat_map(|way| {
            let ends = way.corners.iter().skip(1).map(|c| c.at).chain([way.end]);
            way.corners.iter().zip(ends).map(|(c, to)| Piece { from: c.at, to, bulge: c.bulge })
        })
        .map(|piece| (piece, piece.middle()))
        .collect();
    let mut by_middle: Vec<usize> = (0..single.len()).collect();
    by_middle.sort_by(|&a, &b| single[a].1[0].total_cmp(&single[b].1[0]));
    for (i, &a) in by_middle.iter().enumerate() {
        let (one, middle) = &single[a];
        if near(one.from, one.to) {
            continue;
        }
        for &b in by_middle[i + 1..].iter().take_while(|&&b| single[b].1[0] - middle[0] <= gap) {
            let (other, its_middle) = &single[b];
            let same = (near(one.from, other.from) && near(one.to, other.to))
                || (near(one.from, other.to) && near(one.to, other.from));
            if same && near(*middle, *its_middle) {
                return Some(one.from);
            }
        }
    }
    None
}
