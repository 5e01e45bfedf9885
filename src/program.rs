//! A program: written, rehearsed and proven, and not yet on the disk.

use crate::{
    emit::{
        gcode::{self, Head},
        hpgl,
    },
    machine::{Language, Machine},
    plan::Plan,
    verify::{self, Objection, Verified},
};

/// One program that passed the dry run.
#[derive(Debug, Clone)]
pub struct Program {
    pub file: String,
    pub machine: Machine,
    pub plan: Plan,
    pub verified: Verified,
}

/// A program that does not do what was planned; nothing of it is kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Unproven {
    pub file: String,
    pub objections: Vec<Objection>,
}

/// Writes a program, rehearses it to learn how long it takes, and proves the text that says so.
pub fn prove(title: &str, plan: Plan, machine: &Machine) -> Result<Program, Unproven> {
    let stem = plan.part.stem(plan.work);
    let ending = machine.speech.writes.ending();
    let file = match plan.setup.of {
        1 => format!("{stem}.{ending}"),
        _ => format!("{stem}-{}.{ending}", plan.setup.number),
    };
    let write = |minutes| {
        let head = Head { title, minutes };
        match machine.speech.writes {
            Language::Gcode => gcode::write(&plan, machine, &head),
            Language::Hpgl => hpgl::write(&plan, machine, &head),
        }
    };
    let verify = |text| {
        verify::verify(text, &plan, machine)
            .map_err(|objections| Unproven { file: file.clone(), objections })
    };
    let timed = verify(write(None))?;
    let time = &timed.rehearsal().time;
    let minutes = ((time.total() - time.tool_change) / 60.0).ceil() as u64;
    let verified = verify(write(Some(minutes)))?;
    Ok(Program { file, machine: machine.clone(), plan, verified })
}
