//! The main job in one place: from a job and its machines to files, all proven, none yet on the disk.

use crate::{
    diag::{Diagnostic, Given},
    emit, form,
    job::Job,
    layout::{self, HoleSheet, Layout},
    machine::{Machine, Work},
    paper::Paper,
    plan,
    program::{self, Program, Unproven},
    route::Effort,
    show,
    verify::{self, Objection, Part},
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

/// Makes `works` of the job on `machines`, by name; the sheet for `paper`. `step` hears what is being done.
pub fn make(
    job: &Job,
    machines: &BTreeMap<String, Machine>,
    works: &[Work],
    effort: Effort,
    paper: Paper,
    step: &dyn Fn(&str),
) -> Result<Made, Refused> {
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
        hold_together(sheet, &programs)?;
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

/// Holds all set-ups of a sheet together against it, where it has programs.
fn hold_together(sheet: &HoleSheet, programs: &[Program]) -> Result<(), Refused> {
    let parts: Vec<Part> = programs
        .iter()
        .filter(|program| program.plan.work == sheet.work)
        .map(|Program { plan, machine, verified, .. }| Part { plan, machine, verified })
        .collect();
    if parts.is_empty() {
        return Ok(());
    }
    verify::across(sheet, &parts).map_err(|lapses| {
        let objections = lapses.into_iter().map(Objection::Across).collect();
        Refused::Program(Unproven {
            file: format!("the {}'s programs together", sheet.work),
            objections,
        })
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
