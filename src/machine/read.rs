//! A machine file, read and checked.

use super::{speech, *};
use crate::{
    diag::{Diagnostic, Given, Source},
    form::{self, Form, Within},
    units::{self, Unit},
};

/// Reads the machine called `name` (its file's stem). All that is wrong comes back at once.
pub fn read(name: &str, source: &Source) -> Result<Machine, Vec<Diagnostic>> {
    form::read(source, |f| whole_file(f, name))
}

/// Every key of a machine file, and the keys that are only looked for.
pub fn keys() -> (Vec<form::Field>, Vec<String>) {
    form::describe(|f| whole_file(f, ""))
}

fn whole_file(f: &mut Form, name: &str) -> Option<Machine> {
    read_unit(f);
    let title = f.text("title").value;
    let kind = f.choice("kind", &[("router", Kind::Router), ("plotter", Kind::Plotter)]).value;
    let speech = f.table_if("speech", speech::read).unwrap_or_default();
    let pen = f.table_if("pen", |f| pen(f, speech.writes));
    let spindle = f.table_if("spindle", spindle);
    let bed = f.table("bed", |f| bed(f, kind, pen.as_ref()));
    let motion = f.table("motion", |f| motion(f, kind, pen.as_ref(), bed.as_ref()));
    let cloth = cloth(f, kind, speech.writes);
    let tools = tools(f);
    let keep_clear = f.tables("keep_clear", keep_clear);
    whole(f, kind, &spindle, &pen);
    if speech.writes == Language::Hpgl && kind == Kind::Router {
        f.note(
            Diagnostic::at(f.span(), "a router is not driven in HP-GL/2")
                .help("write kind = \"plotter\", or leave `writes` out of [speech]"),
        );
    }
    Some(Machine {
        name: name.to_string(),
        title,
        kind,
        bed: bed?,
        motion: motion?,
        spindle,
        pen,
        speech,
        cloth,
        tools,
        keep_clear,
    })
}

/// `feed_steps` or `tiles`: neither, or one of them.
fn cloth(f: &mut Form, kind: Kind, writes: Language) -> Cloth {
    let [steps, tiles] = ["feed_steps", "tiles"].map(|key| f.yes_or_no_or(key, false));
    if (steps || tiles) && (kind == Kind::Router || writes == Language::Hpgl) {
        let key = if steps { "feed_steps" } else { "tiles" };
        f.note(
            Diagnostic::at(f.span(), format!("`{key}` is for plotters that can be told to pause"))
                .help("leave it out of this file; HP-GL/2 has no pause that every plotter keeps"),
        );
    }
    match (steps, tiles) {
        (_, true) => Cloth::Tiles,
        (true, false) => Cloth::Steps,
        (false, false) => Cloth::Fixed,
    }
}

/// `units = "mm"` or `"in"` at the top of a file: the unit of its bare numbers.
pub fn read_unit(f: &mut Form) -> Unit {
    let unit = f.choice_or_first("units", &[("mm", Unit::Millimetre), ("in", Unit::Inch)]).value;
    f.set_unit(unit);
    unit
}

fn bed(f: &mut Form, kind: Kind, pen: Option<&Pen>) -> Option<Bed> {
    let x = f.length("x", Within::Positive).value;
    let y = f.length("y", Within::Positive).value;
    let (z, spoilboard) = match kind {
        Kind::Router => (
            f.length("z", Within::Positive).value,
            f.length("spoilboard", Within::NotNegative).value,
        ),
        Kind::Plotter => (
            f.length_or("z", Within::Positive, pen_rise(pen)).value,
            f.length_or("spoilboard", Within::NotNegative, 0.0).value,
        ),
    };
    let work_at = place_or_corner(f, "work_at");
    on_the_bed(f, "work_at", &work_at, [x, y]);
    let over = f.table_if("over", |f| {
        let mut side = |side| f.length_or(side, Within::NotNegative, 0.0).value;
        Some([side("left"), side("right"), side("near"), side("far")])
    });
    let dowel_play = f.length_or("dowel_play", Within::NotNegative, 0.1).value;
    Some(Bed {
        x,
        y,
        z,
        spoilboard,
        work_at: work_at.value,
        over: over.unwrap_or([0.0; 4]),
        dowel_play,
    })
}

fn motion(f: &mut Form, kind: Kind, pen: Option<&Pen>, bed: Option<&Bed>) -> Option<Motion> {
    let rapid = f.table("rapid", |f| {
        let [x, y] = ["x", "y"].map(|axis| f.speed(axis).value);
        let z = if kind == Kind::Router || f.has("z") { f.speed("z").value } else { x };
        Some([x, y, z])
    });
    let acceleration = f.table("acceleration", |f| {
        let mut axis = |axis| f.length(axis, Within::Positive).value;
        let [x, y] = ["x", "y"].map(&mut axis);
        let z = if kind == Kind::Router || f.has("z") {
            f.length("z", Within::Positive).value
        } else {
            x
        };
        Some([x, y, z])
    });
    let cornering = f.length_or("cornering", Within::NotNegative, 0.02).value;
    let safe_height = match kind {
        Kind::Router => f.length("safe_height", Within::Positive),
        Kind::Plotter => f.length_or("safe_height", Within::NotNegative, pen_rise(pen)),
    };
    let park = place_or_corner(f, "park");
    let change_at = f.has("change_at").then(|| place_or_corner(f, "change_at"));
    if let Some(bed) = bed {
        on_the_bed(f, "park", &park, [bed.x, bed.y]);
        if let Some(place) = &change_at {
            on_the_bed(f, "change_at", place, [bed.x, bed.y]);
        }
        if safe_height.value > bed.z {
            f.note(
                Diagnostic::at(
                    safe_height.span,
                    "`safe_height` is above the highest the tool can go",
                )
                .help(format!("write less than the bed's z of {} mm", bed.z)),
            );
        }
    }
    Some(Motion {
        rapid: rapid?,
        acceleration: acceleration?,
        cornering,
        safe_height: safe_height.value,
        park: park.value,
        change_at: change_at.map_or(park.value, |place| place.value),
    })
}

/// How high a pen that moves in Z is lifted; a pen moved by words needs no travel in Z.
fn pen_rise(pen: Option<&Pen>) -> f64 {
    match pen.map(|pen| &pen.lift) {
        Some(Lift::Height { up, .. }) => *up,
        _ => 0.0,
    }
}

fn spindle(f: &mut Form) -> Option<Spindle> {
    let rpm_min = f.number("rpm_min", Within::NotNegative);
    let rpm_max = f.number("rpm_max", Within::Positive);
    if rpm_min.value > rpm_max.value {
        f.note(
            Diagnostic::at(rpm_min.span, "`rpm_min` is more than `rpm_max`")
                .help("write the slower speed first: rpm_min = 3000, rpm_max = 24000"),
        );
    }
    Some(Spindle {
        rpm_min: rpm_min.value,
        rpm_max: rpm_max.value,
        reverse: f.yes_or_no_or("reverse", false),
        spin_up: f.number_or("spin_up", Within::Between(0.0, 120.0), 3.0).value,
        waits: f
            .choice_if("waits", &[("controller", Waits::Controller), ("program", Waits::Program)])
            .map(|given| given.value),
        holder: f.length_or("holder", Within::Positive, 60.0).value,
    })
}

fn pen(f: &mut Form, writes: Language) -> Option<Pen> {
    let lift = match writes {
        Language::Gcode => lift(f),
        // HP-GL/2 has its own words.
        Language::Hpgl => Lift::Words { up: "PU".to_string(), down: "PD".to_string() },
    };
    Some(Pen {
        lift,
        settle: f.number_or("settle", Within::Between(0.0, 10.0), 0.15).value,
        width: f.length_or("width", Within::Positive, 0.7).value,
        holder: f.length_or("holder", Within::Positive, 20.0).value,
        speed: f.speed("speed").value,
    })
}

fn lift(f: &mut Form) -> Lift {
    let up = f.text("up");
    let down = f.text("down");
    match (units::length(&up.value, Unit::Millimetre), units::length(&down.value, Unit::Millimetre))
    {
        (Some(high), Some(low)) => {
            if high <= low {
                f.note(
                    Diagnostic::at(up.span, "the pen's `up` is not above its `down`")
                        .help("write the height above the cloth: up = \"5 mm\", down = \"0 mm\""),
                );
            }
            Lift::Height { up: high, down: low }
        }
        (None, None) => {
            for words in [&up, &down] {
                controller_words(f, words);
            }
            Lift::Words { up: up.value, down: down.value }
        }
        _ => {
            f.note(
                Diagnostic::at(up.span.start..down.span.end.max(up.span.end), "the pen goes up one way and down another")
                    .help("write two heights (up = \"5 mm\", down = \"0 mm\") or two sets of words (up = \"M5\", down = \"M3 S90\")"),
            );
            Lift::Height { up: f64::NAN, down: f64::NAN }
        }
    }
}

/// Words such as `M3 S90`: an M word and its parameters, as a controller reads them.
fn controller_words(f: &Form, words: &Given<String>) {
    let each = |word: &str| {
        let mut letters = word.chars();
        letters.next().is_some_and(|c| c.is_ascii_alphabetic())
            && letters.as_str().parse::<f64>().is_ok()
    };
    if !words.value.starts_with(['M', 'm']) || !words.value.split_ascii_whitespace().all(each) {
        f.note(
            Diagnostic::at(
                words.span.clone(),
                format!("`{}` is neither a height nor words for the controller", words.value),
            )
            .help("write a height such as \"5 mm\", or words such as \"M3 S90\""),
        );
    }
}

fn tools(f: &mut Form) -> Vec<Tool> {
    let tools = f.tables("tool", |f| {
        let number = f.count("number", 1);
        let diameter = f.length("diameter", Within::Positive).value;
        let follows = f.count_if("follows", 1);
        let tool = Tool {
            number: number.value,
            name: f.text("name").value,
            work: f.choices("work", &[("board", Work::Board), ("foam", Work::Foam)]),
            diameter,
            reach: f.length("reach", Within::Positive).value,
            rotation: f
                .choice_or_first(
                    "rotation",
                    &[("forward", Rotation::Forward), ("reverse", Rotation::Reverse)],
                )
                .value,
            rpm: f.number("rpm", Within::Positive).value,
            feed: f.speed("feed").value,
            peck: f.length_or("peck", Within::Positive, diameter).value,
            break_through: f.length_or("break_through", Within::NotNegative, 0.5).value,
            plunges: f.yes_or_no_or("plunges", true),
            sideways: f.yes_or_no_or("sideways", true),
            spots: f.length_if("spots", Within::Positive).map(|depth| depth.value),
            follows: follows.as_ref().map(|number| number.value),
            flutes: f.count_if("flutes", 1).map(|n| n.value),
            feed_per_tooth: f.range_if("feed_per_tooth").map(|range| range.value),
        };
        Some((Given { value: tool, span: number.span }, follows))
    });
    for (tool, first) in &tools {
        if let Some(first) = first {
            let named = tools.iter().find(|(other, _)| other.value.number == first.value);
            goes_first(f, &tool.value, first, named.map(|(other, _)| &other.value));
        }
    }
    let tools: Vec<Given<Tool>> = tools.into_iter().map(|(tool, _)| tool).collect();
    for (i, tool) in tools.iter().enumerate() {
        if tools[..i].iter().any(|earlier| earlier.value.number == tool.value.number) {
            f.note(
                Diagnostic::at(
                    tool.span.clone(),
                    format!("there are two tools with number {}", tool.value.number),
                )
                .help("give every tool a number of its own"),
            );
        }
    }
    tools.into_iter().map(|tool| tool.value).collect()
}

/// Refuses a tool to go first that cannot.
fn goes_first(f: &Form, tool: &Tool, first: &Given<u32>, named: Option<&Tool>) {
    let number = first.value;
    let wrong = match named {
        None => format!("there is no tool {number} for tool {} to follow", tool.number),
        Some(before) if before.spots.is_some() => {
            format!("tool {number} only marks where others start: it goes before them all unasked")
        }
        Some(before) if before.diameter >= tool.diameter => {
            format!("tool {number} is not thinner than tool {}, which follows it", tool.number)
        }
        Some(before) if !before.plunges || !tool.work.iter().all(|w| before.work.contains(w)) => {
            format!(
                "tool {number} does not drill all that tool {}, which follows it, is for",
                tool.number
            )
        }
        Some(before) if before.rotation != tool.rotation => {
            format!("tool {number} turns the other way than tool {}, which follows it", tool.number)
        }
        Some(_) => return,
    };
    f.note(
        Diagnostic::at(first.span.clone(), wrong)
            .help("write the number of a thinner bit that goes straight down in the same work, or leave `follows` out"),
    );
}

fn keep_clear(f: &mut Form) -> Option<KeepClear> {
    let x = f.lengths("x", Within::Signed);
    let y = f.lengths("y", Within::Signed);
    for (axis, range) in [("x", &x), ("y", &y)] {
        if range.value[0] >= range.value[1] {
            f.note(
                Diagnostic::at(
                    range.span.clone(),
                    format!("`{axis}` must run from the lesser to the greater"),
                )
                .help(format!("write {axis} = [{}, {}]", range.value[1], range.value[0])),
            );
        }
    }
    Some(KeepClear { x: x.value, y: y.value, height: f.length("height", Within::Positive).value })
}

fn place_or_corner(f: &mut Form, key: &'static str) -> Given<[f64; 2]> {
    let place = f.table_if(key, |f| {
        let value = ["x", "y"].map(|axis| f.length(axis, Within::Signed).value);
        Some(Given { value, span: f.span() })
    });
    place.unwrap_or(Given { value: [0.0; 2], span: f.span() })
}

fn on_the_bed(f: &Form, key: &str, place: &Given<[f64; 2]>, size: [f64; 2]) {
    let off = (0..2).any(|axis| place.value[axis] < 0.0 || place.value[axis] > size[axis]);
    if off {
        f.note(
            Diagnostic::at(place.span.clone(), format!("`{key}` is not on the bed"))
                .help(format!("write x from 0 to {} and y from 0 to {}", size[0], size[1])),
        );
    }
}

fn whole(f: &Form, kind: Kind, spindle: &Option<Spindle>, pen: &Option<Pen>) {
    match kind {
        Kind::Router if spindle.is_none() => f.missing_table("spindle"),
        Kind::Plotter if pen.is_none() => f.missing_table("pen"),
        _ => {}
    }
}
