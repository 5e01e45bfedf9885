//! What a person should know before cutting: nothing here stops a job.

use super::{
    Bounds, Cleared, Drift, Layout, Name, areas, board::WOOD, cover::Tightest, fit::shape_word,
    listed,
};
use crate::{
    job::{Allowance, AreaKind, Fit, Job, PatternKind, Top},
    outline,
    words::both,
};

/// Nearer than this to the edge a button pulls the border out of shape. Published: the maker's write-ups
/// behind the buttoned-chair and diamond checks (3 in, 76 mm; here rounded down).
const LEAST_EDGE: f64 = 75.0;
/// Height to width of diamonds seen on backs and headboards. Published ranges of worked examples.
const USUAL_RATIO: [f64; 2] = [1.35, 2.0];
/// Twine holes, up to 3/8 in: common practice, no source.
const USUAL_BOARD_HOLE: [f64; 2] = [6.0, 9.525];
/// A narrower strip of board beside an opening is easily broken, mm: common practice, no source.
const LEAST_STRIP: f64 = 20.0;
/// A whole fit this far from the size asked for is worth a word.
const FAR_FROM_ASKED: f64 = 0.15;

pub(super) fn warnings(job: &Job, layout: &Layout) -> Vec<String> {
    let mut warnings = Vec::new();
    let mut warn = |text: String| warnings.push(text);
    allowance(job, layout, &mut warn);
    middle(layout, &mut warn);
    repeat(layout, &mut warn);
    edges(layout, &mut warn);
    grooves(layout, &mut warn);
    given_way(layout, &mut warn);
    openings(layout, &mut warn);
    following(job, layout, &mut warn);
    sizes(job, layout, &mut warn);
    holes(job, layout, &mut warn);
    warnings
}

fn allowance(job: &Job, layout: &Layout, warn: &mut impl FnMut(String)) {
    let cover = &layout.cover;
    let per_row = [
        ("across", "row", &cover.per_row.across),
        ("down", "gap between rows", &cover.per_row.down),
    ];
    for (i, (way, each, figures)) in per_row.into_iter().enumerate() {
        let Bounds { least, most } = cover.bounds[i];
        if let Some(Tightest { names: [from, to], allowance }) = cover.tightest[i] {
            if allowance < least {
                warn(format!(
                    "TOO SHORT? From {from} to {to} the cover is {allowance:.1} mm longer {way}, and by the formula it \
                     needs at least {least:.1} mm to reach the button seat {:.1} mm down. Button one test diamond in \
                     cheap cloth first.",
                    cover.depth
                ));
            }
            if cover.ends[i][1] > most {
                warn(format!(
                    "The cover is up to {:.1} mm longer {way}, more than the {most:.1} mm that upright hole walls can take \
                     up: it may hang loose.",
                    cover.ends[i][1]
                ));
            }
            continue;
        }
        // One figure for all is said once, else each that is out of bounds by its place.
        let same = figures.windows(2).all(|pair| pair[0] == pair[1]);
        let said = if same { 1 } else { figures.len() };
        for (allowance, n) in figures.iter().copied().zip(1..).take(said) {
            let place = match same {
                true => String::new(),
                false => format!(" in {each} {n} from the top"),
            };
            // The formula's own allowance was refused earlier if it could not reach.
            if allowance < least && matches!(job.fabric.allowance, Allowance::Measured { .. }) {
                warn(format!(
                    "TOO SHORT? The allowance {way}{place} is {allowance:.1} mm, and by the formula the cover needs at \
                     least {least:.1} mm to reach the button seat {:.1} mm down. Button one test diamond in cheap cloth \
                     first.",
                    cover.depth
                ));
            }
            if allowance > most {
                warn(format!(
                    "The allowance {way}{place} is {allowance:.1} mm, more than the {most:.1} mm that upright hole walls \
                     can take up: the cover may hang loose."
                ));
            }
        }
    }
}

/// Inside the innermost row of a round the cloth is longer by what the rows outside it need.
fn middle(layout: &Layout, warn: &mut impl FnMut(String)) {
    let (Some(rays), Some(across)) =
        (layout.fitted.all_round(), layout.cover.per_row.across.last())
    else {
        return;
    };
    if !layout.buttons.iter().any(|button| button.name.row() == layout.fitted.rows) {
        return;
    }
    let on_a_ray = across / rays.chord();
    let (pitch, longer, what) = match layout.has_centre_button() {
        true => (rays.inner, on_a_ray, "From the centre to the innermost row"),
        false => (2.0 * rays.inner, 2.0 * on_a_ray, "Across the middle, inside the innermost row,"),
    };
    let Bounds { least, most } = Bounds::of(pitch, layout.cover.depth);
    if longer > most {
        warn(format!(
            "{what} the cover is {longer:.1} mm longer than the panel, more than the {most:.1} mm that it can be pulled \
             down: it may hang loose there. {}",
            match rays.centre_button {
                true => "Take fewer rays, or a smaller allowance across.",
                false => "Take fewer rays, a smaller allowance across, or centre_button = true.",
            }
        ));
    }
    if longer < least && layout.has_centre_button() {
        warn(format!(
            "TOO SHORT? {what} the cover is {longer:.1} mm longer than the panel, and by the formula it needs at least \
             {least:.1} mm to reach the button seat {:.1} mm down. Take a larger allowance across, more rays, or a larger `inner`.",
            layout.cover.depth
        ));
    }
}

fn repeat(layout: &Layout, warn: &mut impl FnMut(String)) {
    if let Some(Drift { name, by: [across, down] }) = layout.cover.drift {
        warn(format!(
            "The cloth's repeat does not follow uneven work: by button {name} it is {:.1} mm off across and {:.1} mm down. \
             One allowance for all rows keeps it in step.",
            across.abs(),
            down.abs()
        ));
    }
}

fn edges(layout: &Layout, warn: &mut impl FnMut(String)) {
    if layout.nearest_edge < LEAST_EDGE - super::HAIR {
        warn(format!(
            "The nearest button is {:.1} mm from the edge; under {LEAST_EDGE} mm the border pulls out of shape.",
            layout.nearest_edge
        ));
    }
    let in_the_way = |name: &Name| layout.areas.iter().any(|area| area.dropped.contains(name));
    let near: Vec<Name> =
        layout.dropped.iter().map(|b| b.name).filter(|name| !in_the_way(name)).collect();
    if !near.is_empty() {
        warn(format!("Left out, too near the edge: {}.", listed(&near)));
    }
}

/// Grooves that are not held, and ties that were moved.
fn grooves(layout: &Layout, warn: &mut impl FnMut(String)) {
    if layout.fitted.kind != PatternKind::Flutes {
        return;
    }
    let last = layout.fitted.across as i32 - 1;
    let ties = |column: i32| layout.buttons.iter().filter(|b| b.lattice[0] == column).count();
    for (many, said) in [(0, "no tie"), (1, "one tie only")] {
        let bare: Vec<String> = (-last..=last)
            .step_by(2)
            .zip(1..)
            .filter(|&(column, _)| ties(column) == many)
            .map(|(_, number): (i32, u32)| number.to_string())
            .collect();
        if !bare.is_empty() {
            warn(format!(
                "Grooves with {said}, counted from the left: {}. Make `edge` smaller, or the flutes fewer.",
                bare.join(", ")
            ));
        }
    }
    if !layout.slid.is_empty() {
        warn(format!(
            "Ties moved along their groove to keep their distance from the edge: {}.",
            listed(&layout.slid)
        ));
    }
}

fn given_way(layout: &Layout, warn: &mut impl FnMut(String)) {
    for area in &layout.areas {
        let reason = &area.reason;
        if !area.dropped.is_empty() {
            warn(format!("Left out for the {reason}: {}.", listed(&area.dropped)));
        }
        for (name, by) in &area.moved {
            warn(format!("Button {name} is moved {by:.1} mm aside for the {reason}."));
        }
    }
}

/// Strips of board beside the openings that are cut through it.
fn openings(layout: &Layout, warn: &mut impl FnMut(String)) {
    let openings: Vec<&Cleared> =
        layout.areas.iter().filter(|area| area.kind == AreaKind::Opening).collect();
    for (i, area) in openings.iter().enumerate() {
        // A little less, for what just touches is found to meet.
        let around = areas::grown(&area.corners, LEAST_STRIP - 1e-3);
        if !outline::lies_within(&around, layout.outline.corners()) {
            warn(format!(
                "The opening for the {} leaves less than {LEAST_STRIP} mm of board to the edge: the strip may break, and \
                 the cover has little to be tacked to.",
                area.reason
            ));
        }
        for other in &openings[..i] {
            if !outline::lie_apart(&around, &other.corners) {
                warn(format!(
                    "Less than {LEAST_STRIP} mm of board is left between the openings for the {} and the {}: the strip may \
                     break.",
                    other.reason, area.reason
                ));
            }
        }
    }
}

/// A pleat turned further than this no longer reads as a diamond, degrees: common practice, no source.
const FAR_TURNED: f64 = 15.0;

/// A top button so much farther from the outline than `edge` no longer reads as following it, mm: common practice,
/// no source.
const FAR_BEHIND: f64 = 25.0;

fn following(job: &Job, layout: &Layout, warn: &mut impl FnMut(String)) {
    if let Top::Following { .. } = job.pattern.top {
        let edge = job.pattern.edge.value.top;
        let top = layout.buttons.iter().filter(|b| b.lattice[1] == layout.fitted.rows as i32 - 1);
        let farthest = top.map(|b| layout.outline.depth(b.at)).fold(0.0, f64::max);
        if farthest > edge + FAR_BEHIND {
            warn(format!(
                "The top row stands up to {} from the outline, not {}: that falls more steeply than a row of diamonds can. \
                 Lower the rise, trim a straight grid, or put up with it.",
                both(farthest, job.unit),
                both(edge, job.unit)
            ));
        }
    }
    if layout.turned > FAR_TURNED {
        warn(format!(
            "Following the top turns pleats by up to {:.1} degrees from a straight grid; over {FAR_TURNED} the diamonds look \
             pulled. Let more rows follow, or trim a straight grid.",
            layout.turned
        ));
    }
}

fn sizes(job: &Job, layout: &Layout, warn: &mut impl FnMut(String)) {
    let fitted = &layout.fitted;
    let ratio = fitted.height / fitted.width;
    if fitted.kind == PatternKind::Diamond && !(USUAL_RATIO[0]..=USUAL_RATIO[1]).contains(&ratio) {
        warn(format!(
            "The diamonds are {ratio:.2} times as high as wide; backs and headboards are usually {} to {}.",
            USUAL_RATIO[0], USUAL_RATIO[1]
        ));
    }
    if job.pattern.fit != Fit::Whole {
        return;
    }
    let axes =
        [(&job.pattern.across, fitted.width, "wide"), (&job.pattern.down, fitted.height, "high")];
    for (axis, found, way) in axes {
        let (Some(asked), None) = (&axis.size, &axis.count) else { continue };
        if (found / asked.value - 1.0).abs() > FAR_FROM_ASKED {
            warn(format!(
                "The {} comes out {found:.1} mm {way}, not {:.1}: see `bradawl layout` for the other whole fits.",
                shape_word(fitted.kind),
                asked.value
            ));
        }
    }
}

fn holes(job: &Job, layout: &Layout, warn: &mut impl FnMut(String)) {
    let (foam, board) = (job.foam.hole.value, job.board.hole.value);
    if foam < job.button_diameter {
        warn(format!(
            "The foam hole ({foam:.1} mm) is smaller than the button ({:.1} mm): the button will sit on top.",
            job.button_diameter
        ));
    }
    if !(USUAL_BOARD_HOLE[0]..=USUAL_BOARD_HOLE[1]).contains(&board) {
        let [least, most] = USUAL_BOARD_HOLE;
        warn(format!(
            "The board hole is {board:.1} mm; for twine {least} to {most:.1} mm is usual."
        ));
    }
    let sheet = &layout.board;
    let at_edge = sheet
        .places
        .iter()
        .filter(|(_, at)| sheet.inside([at.x, at.y]) < sheet.hole / 2.0 + WOOD)
        .map(|(name, _)| *name);
    let at_edge: Vec<Name> = at_edge.collect();
    if !at_edge.is_empty() {
        warn(format!(
            "Less than {WOOD} mm of board is left between the edge or an opening and hole {}: twine pulls it out.",
            listed(&at_edge)
        ));
    }
    let apart = nearest_pair(layout);
    if apart <= foam.max(board) {
        warn(format!(
            "Neighbouring holes are {apart:.1} mm apart and {:.1} mm wide: they run into each other.",
            foam.max(board)
        ));
    }
}

/// The least distance between two buttons: a following top and buttons that gave way keep no pitch. Without
/// end for one button alone.
fn nearest_pair(layout: &Layout) -> f64 {
    let mut upwards: Vec<_> = layout.buttons.iter().map(|button| button.at).collect();
    upwards.sort_by(|a, b| a.y.total_cmp(&b.y));
    let mut nearest = f64::INFINITY;
    for (i, at) in upwards.iter().enumerate() {
        for below in upwards[..i].iter().rev() {
            if at.y - below.y >= nearest {
                break;
            }
            nearest = nearest.min(below.distance(*at));
        }
    }
    nearest
}
