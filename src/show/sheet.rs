//! `sheet.html`: paper for the bench and for each machine.

use super::{
    Shown,
    bed::Names,
    html::{escape, fill, items},
    materials, panel,
    preview::on_bed,
    tape::turns,
};
use crate::{
    machine::{Kind, Lift, Machine, Tool, Work},
    notice,
    plan::{Step, mm},
    program::Program,
    units::Unit,
    words::{count, decimal, duration, length, other, size_both},
};

const PAGE: &str = include_str!("sheet/page.html");
const PROGRAM: &str = include_str!("sheet/program.html");
const STYLE: &str = include_str!("sheet/page.css");
const PICTURES: &str = include_str!("pictures.css");

/// How the work goes at the bench. Cloth rests flat before it is marked: garment trade guides, 12 to 24 h.
const ORDER: [&str; 7] = [
    "Let the cloth rest flat for 12 to 24 hours.",
    "Button one diamond in cheap cloth with these figures before the dear cloth is cut.",
    "Drill the board; cut or mark the foam; glue the foam to the board, hole over hole.",
    "Cut the cover, mark its back, notch the edge in line with the outside buttons.",
    "Lay the wadding on and open it over every hole.",
    "Button from the middle outwards, row by row; lay each pleat as you go, its fold facing down.",
    "Run the edge pleats straight out, turn the cloth in, and staple it behind.",
];

impl Shown<'_> {
    /// The page, the same bytes for the same job.
    pub fn sheet(&self) -> String {
        let job = self.job;
        let panel_size = [self.layout.outline.width(), self.layout.outline.height()];
        let of_them =
            if job.quantity == 1 { String::new() } else { format!(" · {} of them", job.quantity) };
        let used_in = match &job.used_in {
            Some(place) => format!("To be used in: {place} (stated, not checked)."),
            None => {
                "Where it will be used was not stated: find out which fire law applies.".to_string()
            }
        };
        let warnings = match self.layout.warnings.as_slice() {
            [] => String::new(),
            some => {
                let list = items(some.iter().map(String::as_str));
                format!("<div class=\"warnings\"><h2>Look out</h2><ul>{list}</ul></div>")
            }
        };
        let programs: String =
            self.programs.iter().map(|program| self.program_page(program)).collect();
        fill(
            PAGE,
            &[
                ("title", &escape(&job.title)),
                ("pictures", PICTURES),
                ("style", STYLE),
                ("under", &escape(&format!("{}{of_them}", size_both(panel_size, job.unit)))),
                ("panel", &panel::picture(job, self.layout)),
                ("materials", &self.take()),
                ("cover", &self.cover_table()),
                ("order", &items(ORDER)),
                ("warnings", &warnings),
                ("used_in", &escape(&used_in)),
                ("whole", &items(notice::WHOLE)),
                ("programs", &programs),
            ],
        )
    }

    /// What the whole order takes.
    fn take(&self) -> String {
        let unit = self.job.unit;
        let m = materials(self.job, self.layout);
        let sheet = |n: u32, [w, h, thick]: [f64; 3]| {
            format!("{n} of {}, {} thick", size_both([w, h], unit), length(thick, unit))
        };
        let mut rows = vec![
            ("Buttons", format!("{}, {} across", m.buttons, both(m.button_mm, unit))),
            (
                "Twine",
                format!(
                    "{} m, {} each, doubled",
                    decimal(m.twine_m, 1),
                    both(m.twine_each_mm, unit)
                ),
            ),
            ("Board", sheet(m.boards, m.board_mm)),
            ("Foam", sheet(m.foams, m.foam_mm)),
        ];
        if let Some(wadding) = m.wadding_mm {
            rows.push(("Wadding", sheet(m.panels, wadding)));
        }
        rows.push(("Cover", format!("{} cut {}", m.covers, size_both(m.cover_mm, unit))));
        table(&rows)
    }

    fn cover_table(&self) -> String {
        let (unit, cover) = (self.job.unit, &self.layout.cover);
        let shape = crate::layout::shape_word(self.layout.fitted.kind);
        let mut rows = vec![
            ("Cut", size_both(cover.cut, unit)),
            ("Marked", format!("each {shape} {}", size_both(cover.marked, unit))),
            ("Pulled down", both(cover.depth, unit)),
        ];
        for (way, i) in [("Allowance across", 0), ("Allowance down", 1)] {
            let bounds = cover.bounds[i];
            rows.push((
                way,
                format!(
                    "{}; needs {} to reach, {} is all that fits",
                    both(cover.allowance[i], unit),
                    length(bounds.least, unit),
                    length(bounds.most, unit)
                ),
            ));
        }
        rows.push(("Lies", "back up, top away from you: left and right exchanged".to_string()));
        table(&rows)
    }

    fn program_page(&self, program: &Program) -> String {
        let unit = self.job.unit;
        let (plan, machine) = (&program.plan, &program.machine);
        let [w, h, thick] = plan.size.map(mm);
        let [x, y] = machine.bed.work_at;
        let thickness =
            if thick > 0.0 { format!(", {} thick", both(thick, unit)) } else { String::new() };
        let clamps: Vec<String> = machine
            .keep_clear
            .iter()
            .map(|c| {
                format!("X {} to {}, Y {} to {}, {} high", c.x[0], c.x[1], c.y[0], c.y[1], c.height)
            })
            .collect();
        let clamps =
            if clamps.is_empty() { "nothing stated".to_string() } else { clamps.join("; ") };
        let top = match mm(plan.travel_height) {
            height if height > 0.0 => {
                format!("its top; the tool travels {} above it", length(height, unit))
            }
            _ => "its top; the pen is lifted by words, not in Z".to_string(),
        };
        let (tool_head, tool) = tool_table(program, unit);
        fill(
            PROGRAM,
            &[
                ("file", &escape(&program.file)),
                ("title", &escape(&self.job.title)),
                ("machine", &escape(&machine.title)),
                ("picture", &on_bed(program, self.layout).picture(Names::Written)),
                ("work", plan.work.word()),
                ("size", &format!("{}{thickness}", size_both([w, h], unit))),
                ("lies", plan.lies),
                ("zero", &format!("its lower left corner, at X {x} Y {y} mm of the bed")),
                ("top", &top),
                ("clamps", &clamps),
                ("tool_head", tool_head),
                ("tool", &tool),
                ("time", &time_table(program)),
                ("checks", &items(checks(plan.work, machine))),
                ("notes", &notes(program)),
                ("short", &items(notice::SHORT)),
            ],
        )
    }
}

fn both(mm: f64, unit: Unit) -> String {
    format!("{} ({})", length(mm, unit), length(mm, other(unit)))
}

fn table(rows: &[(&str, String)]) -> String {
    rows.iter()
        .map(|(name, says)| format!("<tr><th>{name}</th><td>{}</td></tr>", escape(says)))
        .collect()
}

/// The tool that the plan fits, or the pen.
fn tool_table(program: &Program, unit: Unit) -> (&'static str, String) {
    let machine = &program.machine;
    let fitted = program.plan.steps.iter().find_map(|step| match step {
        Step::Fit { tool, .. } => machine.tools.iter().find(|t| t.number == *tool),
        _ => None,
    });
    match (fitted, &machine.pen) {
        (Some(tool), _) => ("Fit this tool", tool_rows(tool, unit)),
        (None, Some(pen)) => {
            let lift = match &pen.lift {
                Lift::Height { up, down } => {
                    format!("up at {}, down at {}", length(*up, unit), length(*down, unit))
                }
                Lift::Words { up, down } => format!("up by {up}, down by {down}"),
            };
            let rows = [
                ("Line", format!("{} wide", length(pen.width, unit))),
                ("Speed", format!("{} mm/min", decimal(pen.speed, 0))),
                ("Lifted", lift),
            ];
            ("Fit the pen", table(&rows))
        }
        (None, None) => unreachable!("a program was planned for a tool or a pen"),
    }
}

fn tool_rows(tool: &Tool, unit: Unit) -> String {
    table(&[
        ("Tool", format!("{}: {}", tool.number, tool.name)),
        ("Diameter", both(tool.diameter, unit)),
        ("Stands out", format!("{} below its holder", both(tool.reach, unit))),
        ("Turns", turns(tool.rotation).to_string()),
        ("Speed", format!("{} rpm, feed {} mm/min", decimal(tool.rpm, 0), decimal(tool.feed, 0))),
    ])
}

fn time_table(program: &Program) -> String {
    let time = &program.verified.rehearsal().time;
    let parts = [
        ("Travelling", time.rapid),
        ("Working", time.feed),
        ("Straight down", time.plunge),
        ("Waiting", time.dwell + time.spin_up + time.pen_settle),
        ("Changing tools", time.tool_change),
    ];
    let mut rows: Vec<(&str, String)> =
        parts.into_iter().filter(|(_, s)| *s > 0.0).map(|(name, s)| (name, duration(s))).collect();
    rows.push(("In all", duration(time.total())));
    table(&rows)
}

/// What a person looks at before the start; common practice, no source.
fn checks(work: Work, machine: &Machine) -> Vec<&'static str> {
    let mut checks = vec![
        "The right side is up, and the top is where the picture has it.",
        "X0 Y0 and Z0 are touched off.",
    ];
    if machine.kind == Kind::Router {
        checks.push("Nothing but the sheet and its clamps lies on the bed; the clamps are where the picture has them.");
    }
    match work {
        Work::Board => checks.extend([
            "A spoilboard lies under the board; the board is held flat.",
            "The right bit is tight in its holder and stands out far enough.",
            "Guards and extraction are on; eyes, ears and lungs are protected.",
        ]),
        Work::Foam => checks.extend([
            "The foam is held flat and cannot creep or lift.",
            "A cutter turns IN REVERSE; a pen needs the spindle stopped.",
            "Guards and extraction are on; eyes, ears and lungs are protected.",
        ]),
        Work::Fabric => checks.extend([
            "The cloth has rested flat and lies wrong side up, without a wrinkle.",
            "The ink was tested on a scrap: it must not show through or bleed.",
        ]),
    }
    checks.push("The program was run once in the air, well above the work.");
    checks.push("Somebody stays beside the machine, a hand near the stop.");
    checks
}

/// Warnings of the rehearsal.
fn notes(program: &Program) -> String {
    let warnings = &program.verified.rehearsal().warnings;
    if warnings.is_empty() {
        return format!("<p>Rehearsed: no faults, {}.</p>", count(0, "warning", "warnings"));
    }
    let list: Vec<String> =
        warnings.iter().map(|w| format!("line {}: {}", w.line, w.message)).collect();
    format!(
        "<div class=\"warnings\"><h2>Look out</h2><ul>{}</ul></div>",
        items(list.iter().map(String::as_str))
    )
}
