//! Patterns that are no level grid: a fan, flutes, and buttons at places of their own.

use super::{
    super::{Axis, Edge, Fan, Fit, Pattern, PatternKind, Row, Single, Top},
    edge,
};
use crate::{
    diag::{Diagnostic, Given},
    form::{Form, Within},
};

/// Fewer rays do not close a round.
const LEAST_ROUND: u32 = 3;

/// A pattern without anything that its own table does not ask for.
fn plain(f: &Form, kind: PatternKind, across: Axis, down: Axis, edge: Given<Edge>) -> Pattern {
    Pattern {
        kind,
        fit: Fit::Whole,
        across,
        down,
        top_row: Row::Long,
        top: Top::Straight,
        edge,
        fan: None,
        singles: Vec::new(),
        survey: None,
        place: Given { value: (), span: f.span() },
    }
}

fn counted(count: Given<u32>) -> Axis {
    Axis { size: None, count: Some(count) }
}

/// `[pattern.fan]`: diamonds between rays.
pub(super) fn fan(f: &mut Form) -> Option<Pattern> {
    let rays = f.count("rays", 2);
    let rows = f.count("rows", 2);
    let outer_row =
        f.choice_or_first("outer_row", &[("long", Row::Long), ("short", Row::Short)]).value;
    let centre = f.has("centre").then(|| f.place("centre").value);
    let inner = f.length("inner", Within::Positive);
    let sweep = f.has("sweep").then(|| f.number("sweep", Within::Positive));
    let centre_button = f.yes_or_no_or("centre_button", false);
    let edge = edge(f);
    let fan = Fan { centre, inner, sweep, centre_button };
    if fan.is_all_round() && rays.value < LEAST_ROUND {
        let message = format!("all the way round there are at least {LEAST_ROUND} rays");
        f.note(
            Diagnostic::at(rays.span.clone(), message)
                .help(format!("write rays = {LEAST_ROUND} or more")),
        );
    }
    if centre_button && !fan.is_all_round() {
        f.note(
            Diagnostic::at(
                f.span(),
                "a button at the centre belongs to a fan that goes all the way round",
            )
            .help("write sweep = 360, or leave `centre_button` out"),
        );
    }
    let plain = plain(f, PatternKind::Diamond, counted(rays), counted(rows), edge);
    Some(Pattern { top_row: outer_row, fan: Some(fan), ..plain })
}

/// `[pattern.flutes]`: channels side by side.
pub(super) fn flutes(f: &mut Form) -> Option<Pattern> {
    let count = f.count_if("across", 2);
    let size = match count {
        None => Some(f.length("width", Within::Positive)),
        Some(_) => f.length_if("width", Within::Positive),
    };
    // A flute lies between two grooves.
    let grooves = count.map(|count| Given { value: count.value + 1, span: count.span });
    let ties = f.count_or("ties", 2, 2);
    let edge = edge(f);
    Some(plain(f, PatternKind::Flutes, Axis { size, count: grooves }, counted(ties), edge))
}

/// `[pattern.buttons]`: each at a place of its own.
pub(super) fn singles(f: &mut Form) -> Option<Pattern> {
    let places = f.points("at", "[[-150, 80], [150, 80], [0, -60]]");
    let names = f.texts("names");
    let all = f.length_or("edge", Within::NotNegative, 0.0);
    let edge = Edge { sides: all.value, top: all.value, bottom: all.value };
    if places.is_empty() && f.has("at") {
        f.note(
            Diagnostic::at(f.span(), "there is no button")
                .help("write at = [[right, up], …], from the middle of the panel"),
        );
        return None;
    }
    if !names.is_empty() && names.len() != places.len() {
        f.note(
            Diagnostic::at(
                names[0].span.clone(),
                format!("there are {} names and {} places", names.len(), places.len()),
            )
            .help("write one name for each place in `at`, in the same order, or leave `names` out"),
        );
        return None;
    }
    for (i, name) in names.iter().enumerate() {
        if names[..i].iter().any(|other| other.value == name.value) {
            f.note(
                Diagnostic::at(
                    name.span.clone(),
                    format!("two buttons are called `{}`", name.value),
                )
                .help("give each a name of its own"),
            );
        }
    }
    let single = |(i, place): (usize, Given<Vec<f64>>)| Single {
        at: [place.value[0], place.value[1]],
        name: names
            .get(i)
            .cloned()
            .unwrap_or(Given { value: (i + 1).to_string(), span: place.span.clone() }),
        span: place.span,
    };
    let singles: Vec<Single> = places.into_iter().enumerate().map(single).collect();
    let count = |value| counted(Given { value, span: f.span() });
    let plain = plain(
        f,
        PatternKind::Single,
        count(singles.len() as u32),
        count(1),
        Given { value: edge, span: all.span },
    );
    Some(Pattern { singles, ..plain })
}
