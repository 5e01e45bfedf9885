//! A job file, read and checked as far as it can be without laying anything out.

mod fabric;
mod patterns;

use super::*;
use crate::{
    diag::{Diagnostic, Source},
    form::{self, Form, Within},
    machine,
};

/// Fewer places show no grid.
const LEAST_MEASURED: usize = 5;

/// More rows than any panel has.
const ALL_ROWS: u32 = 100_000;

/// Tables of `[pattern]`.
const PATTERNS: [&str; 5] = ["diamond", "square", "fan", "flutes", "buttons"];

/// Reads a job file. All that is wrong comes back at once.
pub fn read(source: &Source) -> Result<Job, Vec<Diagnostic>> {
    form::read(source, whole_file)
}

/// Every key of a job file, and the keys that are only looked for, to say that they come later.
pub fn keys() -> (Vec<form::Field>, Vec<String>) {
    form::describe(whole_file)
}

fn whole_file(f: &mut Form) -> Option<Job> {
    let unit = machine::read_unit(f);
    let title = f.text("title");
    if title.value.trim().is_empty() && f.has("title") {
        f.note(
            Diagnostic::at(title.span.clone(), "the title is empty")
                .help("write a name that the bench will know the job by"),
        );
    }
    let quantity = f.count_or("quantity", 1, 1).value;
    let hands = [("left", Hand::Left), ("right", Hand::Right), ("pair", Hand::Pair)];
    let hand = f.choice_if("hand", &hands).map_or(Hand::Only, |hand| hand.value);
    let used_in = f.text_if("used_in").map(|text| text.value);
    let panel = f.table("panel", shape::read);
    let board = f.table("board", board::read);
    let foam = f.table("foam", foam);
    let hole = |hole: Option<f64>| hole.unwrap_or(f64::NAN);
    let holes = [
        hole(board.as_ref().map(|board| board.hole.value)),
        hole(foam.as_ref().map(|foam| foam.hole.value)),
    ];
    let areas = area::read(f, holes);
    let wadding = f.table_if("wadding", |f| {
        let thickness = f.length("thickness", Within::NotNegative).value;
        Some([thickness, f.length_or("overhang", Within::NotNegative, 0.0).value])
    });
    let [wadding, wadding_overhang] = wadding.unwrap_or([0.0; 2]);
    let button = f.table("button", |f| Some(f.length("diameter", Within::Positive).value));
    let pattern = f.table("pattern", pattern);
    let fabric = f.table("fabric", |f| {
        fabric::fabric(f, foam.as_ref().map_or(f64::NAN, |foam| foam.hole.value))
    });
    if let (Some(pattern), Some(foam)) = (&pattern, &foam)
        && pattern.kind == PatternKind::Flutes
        && foam.work.value == FoamWork::Drill
    {
        f.note(
            Diagnostic::at(
                foam.work.span.clone(),
                "the foam of flutes is slit along the grooves, not drilled",
            )
            .help(
                "write work = \"mark\" in [foam]: the grooves are marked by pen and slit by hand",
            ),
        );
    }
    let on = f.table("on", on);
    Some(Job {
        title: title.value,
        quantity,
        hand,
        prefix: "",
        other_hand: None,
        unit,
        used_in,
        panel: panel?,
        areas,
        board: board?,
        foam: foam?,
        wadding,
        wadding_overhang,
        button_diameter: button?,
        pattern: pattern?,
        fabric: fabric?,
        on: on?,
        prices: None,
    })
}

fn foam(f: &mut Form) -> Option<Foam> {
    let foam = Foam {
        thickness: f.length("thickness", Within::Positive).value,
        hole: f.length("hole", Within::Positive),
        leave: f.length_or("leave", Within::NotNegative, 0.0),
        work: f.choice_or_first("work", &[("drill", FoamWork::Drill), ("mark", FoamWork::Mark)]),
        overhang: f.length_or("overhang", Within::NotNegative, 0.0),
        rest: match f.yes_or_no_or("rest", false) {
            true => Rest::BetweenNeighbours,
            false => Rest::No,
        },
        bonded: f.yes_or_no_or("bonded", false),
    };
    if foam.bonded && foam.leave.value > 0.0 {
        f.note(
            Diagnostic::at(
                foam.leave.span.clone(),
                "the board is drilled through the foam's holes, and `leave` closes them",
            )
            .help("write leave = 0, or bonded = false and drill the board by itself"),
        );
    }
    if foam.bonded && foam.overhang.value > 0.0 {
        f.note(
            Diagnostic::at(
                foam.overhang.span.clone(),
                "foam that is glued to its board before either is drilled must end where the board does: both lie at one corner",
            )
            .help("write overhang = 0, or bonded = false and glue it on afterwards"),
        );
    }
    if foam.leave.value >= foam.thickness {
        f.note(
            Diagnostic::at(
                foam.leave.span.clone(),
                "`leave` is the whole thickness of the foam: there would be no hole",
            )
            .help(format!("write less than {} mm; 0 cuts through", foam.thickness)),
        );
    }
    Some(foam)
}

/// One table of `[pattern]`.
fn pattern(f: &mut Form) -> Option<Pattern> {
    let present = f.present(&PATTERNS);
    let mut found: Vec<Option<Pattern>> = Vec::new();
    let mut take = |f: &mut Form, key, ask: fn(&mut Form) -> Option<Pattern>| {
        if let Some(pattern) = f.table_if(key, |f| Some(ask(f))) {
            found.push(pattern);
        }
    };
    take(f, "diamond", |f| lattice(f, PatternKind::Diamond));
    take(f, "square", |f| lattice(f, PatternKind::Square));
    take(f, "fan", patterns::fan);
    take(f, "flutes", patterns::flutes);
    take(f, "buttons", patterns::singles);
    match present.as_slice() {
        [_, (_, second), ..] => {
            f.note(Diagnostic::at(second.clone(), "there are two patterns").help(format!(
                "keep one table: {}",
                form::either(present.iter().map(|(key, _)| format!("[pattern.{key}]")))
            )));
            return None;
        }
        [] => f.note(
            Diagnostic::at(f.span(), "the pattern is missing")
                .help("add [pattern.diamond] or [pattern.square] with its width, height and edge"),
        ),
        [_] => {}
    }
    found.pop()?
}

fn lattice(f: &mut Form, kind: PatternKind) -> Option<Pattern> {
    let fit = f.choice_or_first("fit", &[("whole", Fit::Whole), ("exact", Fit::Exact)]).value;
    let survey = survey(f);
    // The old panel's own sizes are where the search for its grid begins.
    let fit = if survey.is_some() { Fit::Exact } else { fit };
    let across = axis(f, fit, "width", "across");
    let down = axis(f, fit, "height", "rows");
    let top_row = f.choice_or_first("top_row", &[("long", Row::Long), ("short", Row::Short)]).value;
    let follow = f.count_or("follow", 1, ALL_ROWS).value;
    let tops = [("straight", Top::Straight), ("following", Top::Following { rows: follow })];
    let top = f.choice_or_first("top", &tops).value;
    let edge = edge(f);
    let place = Given { value: (), span: f.span() };
    Some(Pattern {
        kind,
        fit,
        across,
        down,
        top_row,
        top,
        edge,
        fan: None,
        singles: Vec::new(),
        survey,
        place,
    })
}

/// `measured`: the positions of an old panel's buttons.
fn survey(f: &mut Form) -> Option<Survey> {
    let froms = [("corner", MeasuredFrom::Corner), ("middle", MeasuredFrom::Middle)];
    let from = f.choice_or_first("measured_from", &froms).value;
    let uses = [("reproduce", Positions::Reproduce), ("true", Positions::True)];
    let positions = f.choice_or_first("positions", &uses).value;
    if f.is_table("measured") {
        return f.table_if("measured", |f| {
            let units = [("mm", Unit::Millimetre), ("cm", Unit::Centimetre), ("in", Unit::Inch)];
            let drawing = DrawnPlaces {
                file: f.text("file"),
                layer: f.text_if("layer"),
                unit: f.choice_if("units", &units),
                bytes: Vec::new(),
            };
            Some(Survey { places: Vec::new(), drawing: Some(drawing), from, positions })
        });
    }
    if !f.has("measured") {
        return None;
    }
    let places = f.points("measured", "[[90, 90], [225, 91]]").into_iter();
    let places: Vec<Given<[f64; 2]>> = places
        .map(|place| Given { value: [place.value[0], place.value[1]], span: place.span })
        .collect();
    if places.len() < LEAST_MEASURED {
        f.note(
            Diagnostic::at(f.span(), format!("{} places are too few to find a grid", places.len()))
                .help(format!("measure at least {LEAST_MEASURED} buttons, in two rows or more")),
        );
        return None;
    }
    Some(Survey { places, drawing: None, from, positions })
}

/// A size or a count; an exact fit needs the size, a whole fit either.
fn axis(f: &mut Form, fit: Fit, size_key: &'static str, count_key: &'static str) -> Axis {
    let least = match (fit, count_key) {
        (Fit::Exact, "rows") => 1,
        _ => 2,
    };
    let count = f.count_if(count_key, least);
    let needs_size = fit == Fit::Exact || count.is_none();
    let size = if needs_size {
        Some(f.length(size_key, Within::Positive))
    } else {
        f.length_if(size_key, Within::Positive)
    };
    Axis { size, count }
}

/// One figure for all sides, or `{ sides = …, top = …, bottom = … }`.
fn edge(f: &mut Form) -> Given<Edge> {
    if f.is_table("edge") {
        let table = f.table("edge", |f| {
            let mut side = |key| f.length(key, Within::NotNegative).value;
            let value = Edge { sides: side("sides"), top: side("top"), bottom: side("bottom") };
            Some(Given { value, span: f.span() })
        });
        return table.expect("`is_table` said that the key holds a table");
    }
    let all = f.length("edge", Within::NotNegative);
    let value = Edge { sides: all.value, top: all.value, bottom: all.value };
    Given { value, span: all.span }
}

fn on(f: &mut Form) -> Option<On> {
    let mut machine = |key| f.text_if(key);
    Some(On { board: machine("board"), foam: machine("foam"), fabric: machine("fabric") })
}
