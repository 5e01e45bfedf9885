//! From a shape as it was measured to its outline; what cannot be is said with its place.

use super::{Corner, Outline, check, drawing, round, svg, way::Way};
use crate::{
    diag::{Diagnostic, Given},
    form::LONGEST,
    job::{Arcs, Area, AreaSize, Drawn, DrawnPlaces, Panel, Shape, Shoulder},
};

/// What places of a drawing were drawn with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DrawnWith {
    /// Nothing but themselves.
    Itself,
    /// The panel's own outline.
    Panel,
}

/// The outline of the job's panel, front frame. Errors point into the job file.
pub fn outline(panel: &Panel) -> Result<Outline, Vec<Diagnostic>> {
    let corners = match &panel.shape {
        Shape::Rectangle { width, height, radii } => rectangle(width.value, height.value, radii),
        Shape::Arch { width, height, rise, arcs } => arch(width.value, height, rise, *arcs),
        Shape::Shouldered { .. } => shouldered(&panel.shape),
        Shape::Ellipse { width, height } => Ok(ellipse(width.value / 2.0, height.value / 2.0)),
        Shape::Polygon { points } => polygon(points),
        Shape::Path { data, unit } => svg::outline(data, *unit),
        Shape::Drawing { file, layer, unit, gap, bytes } => drawing::outline(&drawing::Asked {
            file,
            bytes,
            layer: layer.as_ref(),
            unit: unit.as_ref(),
            gap: *gap,
        }),
    }?;
    let at = |message| Diagnostic::at(panel.span.clone(), message);
    if let Some((message, help)) = check::fault(&corners) {
        return Err(vec![at(message).help(help)]);
    }
    let outline = Outline::closed(corners);
    let longest = outline.width().max(outline.height());
    if longest > LONGEST {
        let message =
            format!("the panel comes to {:.0} m, which cannot be meant", longest / 1000.0);
        return Err(vec![at(message).help("write a panel of at most 20 m, or check the unit")]);
    }
    Ok(match panel.drawn {
        Drawn::AsWritten => outline,
        Drawn::Mirrored => outline.other_hand(),
    })
}

/// The places that a drawing marks, from the middle of the panel in its front frame where the panel comes from the
/// same drawing; else as they lie in it.
pub fn drawn_places(
    panel: &Panel,
    places: &DrawnPlaces,
) -> Result<(Vec<[f64; 2]>, DrawnWith), Vec<Diagnostic>> {
    let DrawnPlaces { file, layer, unit, bytes } = places;
    let (layer, unit) = (layer.as_ref(), unit.as_ref());
    let found = drawing::places(&drawing::Asked { file, bytes, layer, unit, gap: 0.0 })?;
    let Shape::Drawing { file: own, layer, unit, gap, bytes } = &panel.shape else {
        return Ok((found, DrawnWith::Itself));
    };
    if own.value != file.value {
        return Ok((found, DrawnWith::Itself));
    }
    let (layer, unit) = (layer.as_ref(), unit.as_ref());
    let corners = drawing::outline(&drawing::Asked { file: own, bytes, layer, unit, gap: *gap })?;
    let middle = super::bounds(&corners).center();
    let moved = found.iter().map(|[x, y]| [x - middle.x, y - middle.y]);
    Ok((moved.collect(), DrawnWith::Panel))
}

/// The outline of an opening or a keep-out where it stands on the panel, anticlockwise.
pub fn area(area: &Area) -> Result<Vec<Corner>, Vec<Diagnostic>> {
    let corners = match &area.size {
        AreaSize::Circle { diameter } => ellipse(diameter / 2.0, diameter / 2.0),
        AreaSize::Rectangle { width, height, radius } => {
            let corners = rectangle(*width, *height, &[(); 4].map(|()| radius.clone()))?;
            super::piece::shifted(&corners, [-width / 2.0, -height / 2.0])
        }
    };
    Ok(super::piece::shifted(&corners, area.at))
}

fn rectangle(w: f64, h: f64, radii: &[Given<f64>; 4]) -> Result<Vec<Corner>, Vec<Diagnostic>> {
    let [top_left, top_right, bottom_right, bottom_left] = radii;
    let radii = [bottom_left, bottom_right, top_right, top_left];
    let points = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]];
    rounded(&points, &radii.map(|radius| radius.value), |corner| radii[corner].span.clone())
}

/// Rounds corners; a radius too large is shown at its `place`.
fn rounded(
    points: &[[f64; 2]],
    radii: &[f64],
    place: impl Fn(usize) -> std::ops::Range<usize>,
) -> Result<Vec<Corner>, Vec<Diagnostic>> {
    round::round(points, radii).map_err(|wrong| {
        let one_figure = (1..points.len()).all(|i| place(i) == place(0));
        let mut wrong: Vec<Diagnostic> = wrong
            .into_iter()
            .map(|round::TooRound { corner, most, alike }| {
                let most = if one_figure { alike } else { most };
                Diagnostic::at(
                    place(corner),
                    format!(
                        "a radius of {} mm does not fit beside its neighbours' at {}, {}",
                        mm(radii[corner]),
                        mm(points[corner][0]),
                        mm(points[corner][1])
                    ),
                )
                .help(match most > 0.0 {
                    true => format!(
                        "write at most {} mm there, or make its neighbours' smaller",
                        mm(floor(most))
                    ),
                    false => "make its neighbours' smaller, or this one 0".to_string(),
                })
            })
            .collect();
        // One figure for all corners is wrong once.
        wrong.dedup_by(|a, b| a.span == b.span);
        wrong
    })
}

/// Down to a hundredth, so that what the help says fits.
fn floor(n: f64) -> f64 {
    (n * 100.0).floor() / 100.0
}

fn mm(n: f64) -> String {
    let text = format!("{n:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_string()
}

/// Bulge of an arc of this rise over a chord: by the inscribed angle, rise over half the chord.
fn bulge(rise: f64, chord: f64) -> f64 {
    2.0 * rise / chord
}

fn arch(
    w: f64,
    height: &Given<f64>,
    rise: &Given<f64>,
    arcs: Arcs,
) -> Result<Vec<Corner>, Vec<Diagnostic>> {
    let (h, b, a) = (height.value, rise.value, w / 2.0);
    let mut wrong = Vec::new();
    if b > h {
        wrong.push(
            Diagnostic::at(rise.span.clone(), "the arch rises higher than the whole panel").help(
                format!(
                    "`height` is over all, arch and body: write a rise of at most {} mm",
                    mm(h)
                ),
            ),
        );
    }
    if b > a {
        wrong.push(
            Diagnostic::at(rise.span.clone(), "an arch cannot rise more than half its width")
                .help(format!("write at most {} mm, which is a half circle", mm(a))),
        );
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let mut way = Way::from([-a, 0.0]);
    way.line_to([a, 0.0]);
    way.line_to([a, h - b]);
    match arcs {
        Arcs::Three if b < a => three_centred(&mut way, a, h - b, b),
        _ => way.arc_to(bulge(b, w), [-a, h - b]),
    }
    way.line_to([-a, 0.0]);
    Ok(way.corners)
}

/// Over a half span `a` with its springing at `y`, from right to left. The small arcs end where the line
/// from one springing to the crown, shortened by a - rise, has its middle: the three arcs then meet
/// without a kink, centres on the springing line and on the centre line. From memory; the tests hold the tangents.
fn three_centred(way: &mut Way, a: f64, y: f64, rise: f64) {
    let c = (a * a + rise * rise).sqrt();
    let small = c * (c - a + rise) / (2.0 * a);
    let large = c * (c + a - rise) / (2.0 * rise);
    // From the large centre through the small centre to where they meet.
    let (x, up) = (a - small, large - rise);
    let between = large - small;
    let meet = [a - small + x / between * small, up / between * small];
    // The small arc turns from pointing up until it is square to the line of centres.
    let half_turn = |cos: f64| ((1.0 - cos) / (1.0 + cos)).sqrt();
    let quarter = |t: f64| t / (1.0 + (1.0 + t * t).sqrt());
    let small_bulge = quarter(half_turn(x / between));
    let large_bulge = quarter(x / up);
    way.arc_to(small_bulge, [meet[0], y + meet[1]]);
    way.arc_to(large_bulge, [-meet[0], y + meet[1]]);
    way.arc_to(small_bulge, [-a, y]);
}

fn shouldered(shape: &Shape) -> Result<Vec<Corner>, Vec<Diagnostic>> {
    let Shape::Shouldered { width, height, shoulder_width, shoulder_drop, shoulder, rise } = shape
    else {
        unreachable!("called for shouldered panels only")
    };
    let (a, h) = (width.value / 2.0, height.value);
    let (across, drop, rise_mm) = (shoulder_width.value, shoulder_drop.value, rise.value);
    let middle = a - across;
    let mut wrong = Vec::new();
    if middle <= 0.0 {
        wrong.push(
            Diagnostic::at(
                shoulder_width.span.clone(),
                "the shoulders leave no middle between them",
            )
            .help(format!("write less than half the width, {} mm", mm(a))),
        );
    }
    if drop + rise_mm >= h {
        wrong.push(
            Diagnostic::at(
                shoulder_drop.span.clone(),
                "drop and rise together are as high as the whole panel",
            )
            .help(format!("`height` is over all: keep them below {} mm", mm(h))),
        );
    }
    if middle > 0.0 && rise_mm > middle {
        wrong.push(
            Diagnostic::at(rise.span.clone(), "the middle cannot rise more than half its width")
                .help(format!("write at most {} mm", mm(middle))),
        );
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let top = h - rise_mm;
    let mut way = Way::from([-a, 0.0]);
    way.line_to([a, 0.0]);
    way.line_to([a, top - drop]);
    match shoulder {
        Shoulder::Step => {
            way.line_to([middle, top - drop]);
            way.line_to([middle, top]);
        }
        Shoulder::Scoop => hollow(&mut way, [a, top], [0.0, -drop], [-across, 0.0]),
        Shoulder::Swept => swept(&mut way, [middle, top], Sweep::HollowFirst),
    }
    way.arc_to(bulge(rise_mm, 2.0 * middle), [-middle, top]);
    match shoulder {
        Shoulder::Step => {
            way.line_to([-middle, top - drop]);
            way.line_to([-a, top - drop]);
        }
        Shoulder::Scoop => hollow(&mut way, [-a, top], [across, 0.0], [0.0, -drop]),
        Shoulder::Swept => swept(&mut way, [-a, top - drop], Sweep::RoundFirst),
    }
    way.line_to([-a, 0.0]);
    Ok(way.corners)
}

/// A quarter round about `centre`, from its arm `from` to its arm `to`, turning clockwise.
fn hollow(way: &mut Way, centre: [f64; 2], from: [f64; 2], to: [f64; 2]) {
    let at = |share: f64| {
        let (sin, cos) = libm::sincos(share * std::f64::consts::FRAC_PI_2);
        // The ends exactly, so that what follows joins.
        let (sin, cos) = if share == 1.0 { (1.0, 0.0) } else { (sin, cos) };
        [0, 1].map(|i| centre[i] + from[i] * cos + to[i] * sin)
    };
    let [a, b] = [from, to].map(|arm| arm[0].abs() + arm[1].abs());
    match a == b {
        true => way.arc_to(-(std::f64::consts::SQRT_2 - 1.0), at(1.0)),
        false => way.curve(&at),
    }
}

#[derive(PartialEq)]
enum Sweep {
    HollowFirst,
    RoundFirst,
}

/// An S to `to` of two equal arcs, level at both ends. Where it is steeper than it is wide they are quarter
/// rounds with an upright line between them, for longer arcs would swing out past both ends.
fn swept(way: &mut Way, to: [f64; 2], sweep: Sweep) {
    let from = way.end;
    let [x, y] = [(to[0] - from[0]).abs(), (to[1] - from[1]).abs()];
    // Each arc turns through twice the angle of the chord.
    let bulge = (y / (x + (x * x + y * y).sqrt())).min(std::f64::consts::SQRT_2 - 1.0);
    let sign = if sweep == Sweep::HollowFirst { -1.0 } else { 1.0 };
    let middle = (from[0] + to[0]) / 2.0;
    let high = y.min(x) / 2.0 * (to[1] - from[1]).signum();
    way.arc_to(sign * bulge, [middle, from[1] + high]);
    if y > x {
        way.line_to([middle, to[1] - high]);
    }
    way.arc_to(-sign * bulge, to);
}

fn ellipse(a: f64, b: f64) -> Vec<Corner> {
    if a == b {
        return [[-a, 0.0], [a, 0.0]].map(|at| Corner { at, bulge: 1.0 }).to_vec();
    }
    let mut way = Way::from([a, 0.0]);
    // Quarter by quarter, so that the four ends of the axes are on it exactly.
    let arms = [[a, 0.0], [0.0, b], [-a, 0.0], [0.0, -b], [a, 0.0]];
    for pair in arms.windows(2) {
        way.curve(&|share| {
            let (sin, cos) = libm::sincos(share * std::f64::consts::FRAC_PI_2);
            let (sin, cos) = if share == 1.0 { (1.0, 0.0) } else { (sin, cos) };
            [0, 1].map(|i| pair[0][i] * cos + pair[1][i] * sin)
        });
    }
    way.corners
}

fn polygon(points: &[Given<[f64; 3]>]) -> Result<Vec<Corner>, Vec<Diagnostic>> {
    let place = |i: usize| points[i].span.clone();
    let at: Vec<[f64; 2]> = points.iter().map(|p| [p.value[0], p.value[1]]).collect();
    let twice = (1..at.len()).filter(|&i| at[i] == at[i - 1]);
    let mut wrong: Vec<Diagnostic> = twice
        .map(|i| {
            Diagnostic::at(place(i), "this point is the same as the one before it")
                .help("leave one of them out")
        })
        .collect();
    let closes_itself = at.len() > 1 && at.first() == at.last();
    if closes_itself {
        wrong.push(
            Diagnostic::at(place(at.len() - 1), "the last point is the first one again")
                .help("leave it out: the outline closes by itself"),
        );
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let radii: Vec<f64> = points.iter().map(|p| p.value[2]).collect();
    match at.len() {
        // Said once, by the check that every outline goes through.
        0..=2 => Ok(at.into_iter().map(Corner::sharp).collect()),
        _ => rounded(&at, &radii, place),
    }
}
