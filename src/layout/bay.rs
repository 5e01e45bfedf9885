//! The test bay: one full diamond with its half neighbours, to button in cheap cloth before the dear one is
//! cut.

use super::{Cover, Fitted};
use crate::{
    diag::Given,
    job::{
        Allowance, Axis, Drawn, Edge, EdgeFullness, Fit, Hand, Job, Panel, Pattern, PatternKind,
        Row, Shape, Top,
    },
    words,
};

/// How much less and more allowance is tried than was planned: common practice, no source.
const SHARE: f64 = 0.2;

/// Three bays alike but for their allowance, each with its figures in its title.
pub fn bays(job: &Job, fitted: &Fitted, cover: &Cover) -> [Job; 3] {
    let mut tried = cover.allowance;
    // Of a fan the innermost row is the hardest to reach.
    let fitted = &match (fitted.fan, cover.per_row.across.last()) {
        (Some(_), Some(&innermost)) => {
            tried[0] = innermost;
            Fitted { width: fitted.narrowest(), ..*fitted }
        }
        _ => *fitted,
    };
    [("less", "less-", 1.0 - SHARE), ("planned", "planned-", 1.0), ("more", "more-", 1.0 + SHARE)]
        .map(|(name, prefix, share)| {
            let allowance = tried.map(|a| a * share);
            Job { prefix, ..bay(job, fitted, allowance, name) }
        })
}

fn bay(job: &Job, fitted: &Fitted, allowance: [f64; 2], name: &str) -> Job {
    let place = job.pattern.place.span.clone();
    let given = |value: f64| Given { value, span: place.clone() };
    let count = |value: u32| Axis { size: None, count: Some(Given { value, span: place.clone() }) };
    // Half a cell stands on every side of the whole one.
    let half = [fitted.width / 2.0, fitted.height / 2.0];
    let edge = Edge { sides: half[0], top: half[1], bottom: half[1] };
    let rows = match fitted.kind {
        PatternKind::Diamond => 3,
        _ => 2,
    };
    let mut bay = job.clone();
    bay.title = format!(
        "Test bay, {name}: {} across, {} down",
        words::length(allowance[0], job.unit),
        words::length(allowance[1], job.unit)
    );
    bay.quantity = 1;
    let shape = Shape::Rectangle {
        width: given(2.0 * fitted.width),
        height: given(2.0 * fitted.height),
        radii: [0.0; 4].map(given),
    };
    bay.panel = Panel { shape, drawn: Drawn::AsWritten, span: place.clone() };
    bay.areas = Vec::new();
    bay.prices = None;
    bay.hand = Hand::Only;
    bay.prefix = "";
    bay.pattern = Pattern {
        // Buttons at places of their own are tried as a square of their mean size.
        kind: match fitted.kind {
            PatternKind::Single => PatternKind::Square,
            kind => kind,
        },
        fit: Fit::Whole,
        across: count(2),
        down: count(rows),
        top_row: Row::Short,
        top: Top::Straight,
        fan: None,
        singles: Vec::new(),
        survey: None,
        edge: Given { value: edge, span: job.pattern.edge.span.clone() },
        place: job.pattern.place.clone(),
    };
    bay.fabric.allowance = Allowance::Measured {
        across: Given { value: vec![allowance[0]], span: place.clone() },
        down: Given { value: vec![allowance[1]], span: place.clone() },
    };
    bay.fabric.edge_fullness = EdgeFullness::Half;
    // A scrap has no repeat to match.
    bay.fabric.repeat = None;
    bay
}
