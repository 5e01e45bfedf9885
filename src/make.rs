//! The main job in one place: from a job and its machines to files, all proven, none yet on the disk.

use crate::{
    diag::{Diagnostic, Given},
    emit, form,
    job::Job,
    layout::{self, Layout},
    machine::{Machine, Work},
    paper::Paper,
    plan::{self, Plan},
    program::{self, Program, Unproven},
    route::Effort,
    show,
    verify::{self, Lapse, Objection, Part},
};
use std::collections::BTreeMap;

/// All that `make` found out and would write.
#[derive(Debug, Clone)]
pub struct Made {
    pub layout: Layout,
    pub programs: Vec<Program>,
    /// By file name.
    pub files: BTreeMap<String, Vec<u8>>,
}

/// Why nothing was made.
#[derive(Debug, Clone, PartialEq)]
pub enum Refused {
    /// The job cannot be made: places in the job file.
    Job(Vec<Diagnostic>),
    /// A program was written that does not do what was planned. Nothing of it is kept.
    Program(Unproven),
}

/// What is to be made of a job, and with what.
#[derive(Debug, Clone, Copy)]
pub struct Wanted<'a> {
    pub job: &'a Job,
    /// By name.
    pub machines: &'a BTreeMap<String, Machine>,
    /// Those that the job names no machine for get drawings only.
    pub works: &'a [Work],
    /// How long to look for a good order.
    pub effort: Effort,
    /// What the sheet is printed on.
    pub paper: Paper,
}

/// Makes what is wanted, or says why not. `step` hears what is being done.
pub fn make(wanted: &Wanted, step: &dyn Fn(&str)) -> Result<Made, Refused> {
    let &Wanted { job, machines, works, effort, paper } = wanted;
    let mut layout = layout::lay_out(job).map_err(Refused::Job)?;
    let mut wrong = Vec::new();
    let mut plans = Vec::new();
    for &work in works {
        let Some(named) = job.on.machine_for(work) else { continue };
        step(&format!("ordering the {work}"));
        let planned = match machines.get(&named.value) {
            Some(machine) => {
                plan::plan(job, &layout, work, machine, effort).map(|of_work| (of_work, machine))
            }
            None => Err(vec![unknown_machine(named, machines)]),
        };
        match planned {
            Ok((of_work, machine)) => plans.extend(of_work.into_iter().map(|plan| (plan, machine))),
            Err(more) => {
                assert!(!more.is_empty(), "who refuses says why");
                wrong.extend(more);
            }
        }
    }
    if !wrong.is_empty() {
        return Err(Refused::Job(wrong));
    }
    let named = |file: &str| format!("{}{file}", job.prefix);
    let mut programs = Vec::new();
    for (plan, machine) in plans {
        step(&format!("rehearsing the {}", plan.work));
        layout.warnings.extend(plan.over_tolerance(job.board.tolerance));
        programs.push(program::prove(&job.title, plan, machine).map_err(Refused::Program)?);
    }
    for sheet in [&layout.board, &layout.foam] {
        let those = |plan: &Plan| plan.work == sheet.work;
        hold_together(&programs, those, |parts| verify::across(sheet, parts))?;
    }
    for piece in &layout.cover.pieces {
        let those = |plan: &Plan| plan.work == Work::Fabric && plan.part == piece.part;
        hold_together(&programs, those, |parts| verify::across_cover(piece, parts))?;
    }
    for program in &mut programs {
        program.file.insert_str(0, job.prefix);
    }
    step("drawing");
    let mut files: BTreeMap<String, Vec<u8>> =
        programs.iter().map(|p| (p.file.clone(), p.verified.text().as_bytes().to_vec())).collect();
    for &work in works {
        let drawings = emit::drawings::write(job, &layout, work);
        files.extend(drawings.into_iter().map(|(name, bytes)| (named(&name), bytes)));
    }
    let shown = show::Shown { job, layout: &layout, programs: &programs };
    files.insert(named("report.json"), shown.report().into_bytes());
    files.insert(named("preview.html"), shown.preview().into_bytes());
    files.insert(named("sheet.html"), shown.sheet().into_bytes());
    files.insert(named("sheet.pdf"), shown.sheet_pdf(paper));
    Ok(Made { layout, programs, files })
}

/// Holds all set-ups of a sheet or a piece together against it, where it has programs.
fn hold_together(
    programs: &[Program],
    those: impl Fn(&Plan) -> bool,
    across: impl Fn(&[Part]) -> Result<(), Vec<Lapse>>,
) -> Result<(), Refused> {
    let of_it = programs.iter().filter(|program| those(&program.plan));
    let parts: Vec<Part> = of_it
        .map(|Program { plan, machine, verified, .. }| Part { plan, machine, verified })
        .collect();
    let Some(first) = parts.first() else { return Ok(()) };
    across(&parts).map_err(|lapses| {
        let objections = lapses.into_iter().map(Objection::Across).collect();
        let file = format!("the {}'s programs together", first.plan.work);
        Refused::Program(Unproven { file, objections })
    })
}

fn unknown_machine(named: &Given<String>, machines: &BTreeMap<String, Machine>) -> Diagnostic {
    let names: Vec<&str> = machines.keys().map(String::as_str).collect();
    let help = match (form::nearest(&named.value, &names), names.as_slice()) {
        (_, []) => {
            "no machine files were found; say where they are with --machines DIR".to_string()
        }
        (Some(near), _) => format!("did you mean \"{near}\"? There are: {}", names.join(", ")),
        (None, _) => format!("there are: {}", names.join(", ")),
    };
    Diagnostic::at(named.span.clone(), format!("there is no machine file `{}.toml`", named.value))
        .help(help)
}
