//! What an outline must not be: too many pieces, no area, crossing or touching itself.

use super::{Corner, polyline, turned_area};
use cavalier_contours::{
    core::Control,
    polyline::{PlineIntersect, PlineSource as _},
};

/// More pieces than anybody drew: a tracing that was never simplified.
const MOST_PIECES: usize = 20_000;
/// Less than this is no area, mm².
const LEAST_AREA: f64 = 1.0;

/// What is wrong with a closed way, in plain words, and what to do; places are as it was written.
pub fn fault(corners: &[Corner]) -> Option<(String, &'static str)> {
    if corners.len() > MOST_PIECES {
        return Some((
            format!("the outline has {} pieces, which cannot be meant", corners.len()),
            "simplify it to at most 20000; a panel needs a few hundred at the most",
        ));
    }
    if corners.len() < 2 || turned_area(corners).abs() < LEAST_AREA {
        return Some((
            "the outline encloses no area".to_string(),
            "give at least three points that do not lie on one line",
        ));
    }
    crossing(corners)
        .map(|what| (what, "an outline goes round once, without crossing or touching itself"))
}

/// Whether a closed way crosses, touches or runs over itself.
pub fn crosses_itself(corners: &[Corner]) -> bool {
    crossing(corners).is_some()
}

fn crossing(corners: &[Corner]) -> Option<String> {
    let mut found = None;
    let mut visit = |meeting: PlineIntersect<f64>| {
        found = Some(match meeting {
            PlineIntersect::Basic(at) => format!(
                "the outline crosses or touches itself at {}, {}",
                millimetres(at.point.x),
                millimetres(at.point.y)
            ),
            PlineIntersect::Overlapping(at) => format!(
                "the outline runs over itself from {}, {} to {}, {}",
                millimetres(at.point1.x),
                millimetres(at.point1.y),
                millimetres(at.point2.x),
                millimetres(at.point2.y)
            ),
        });
        Control::Break(())
    };
    let _: Control<()> = polyline(corners).visit_self_intersects(&mut visit);
    found
}

/// A place for a message.
fn millimetres(n: f64) -> String {
    let text = format!("{n:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_string() } else { text.to_string() }
}
