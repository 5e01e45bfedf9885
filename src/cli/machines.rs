//! `bradawl machines`.

use super::{End, Shared, complain, files, new_machine};
use crate::{
    machine::Kind,
    plan::{self, NoTrial},
    program,
    units::Unit,
    words::{length, size},
};
use clap::Args;
use serde_json::json;
use std::{fs, path::PathBuf};

#[derive(Args)]
pub struct MachinesArgs {
    /// Asks what can be found out at the machine and writes a file for it, by this name
    #[arg(value_name = "NEW", conflicts_with = "tried")]
    new: Option<String>,
    /// Writes a harmless program for this machine, to see whether its file can be trusted
    #[arg(long = "try", value_name = "NAME")]
    tried: Option<String>,
}

pub fn run(args: &MachinesArgs, shared: &Shared) -> End {
    match (&args.new, &args.tried) {
        (Some(name), _) => new_machine::run(name, shared),
        (None, Some(name)) => try_out(name, shared),
        (None, None) => list(shared),
    }
}

/// The bed's outline in the air, and a ruler of ten marks on a scrap.
fn try_out(name: &str, shared: &Shared) -> End {
    let machines = match files::machines(shared, None).map(|found| files::usable(found, &[name])) {
        Ok(Ok(machines)) => machines,
        Ok(Err(wrong)) => return End::Refused(wrong),
        Err(why) => return End::CouldNotRun(why),
    };
    let Some(machine) = machines.get(name) else {
        return End::CouldNotRun(format!("there is no machine file `{name}.toml`"));
    };
    let (plan, ruler) = match plan::trial(machine) {
        Ok(trial) => trial,
        Err(why) => {
            let why = match why {
                NoTrial::NoTool => {
                    "error: the machine's file has no tool that goes straight down: add a [[tool]]\n"
                }
                NoTrial::NoRoom => "error: no ten marks clear of the clamps fit this bed\n",
                NoTrial::NoHeight => {
                    "error: the clamps leave no height to travel at: check `z` and [[keep_clear]]\n"
                }
            };
            return End::Refused(why.to_string());
        }
    };
    let [width, height, thick] = plan.size.map(plan::mm);
    let touch = if plan.has_heights() { ", and touch off Z0 on top of it" } else { "" };
    let at = plan.setup.lay.corner.map(plan::mm);
    let title = format!("Trial of {}", machine.title);
    let program = match program::prove(&title, plan, machine) {
        Ok(program) => program,
        Err(unproven) => {
            let mut text = String::new();
            for objection in unproven.objections.iter().take(20) {
                text += &format!("{name}: {objection}\n");
            }
            text += "error: the trial did not pass the dry run on this machine's file, so nothing was written\n";
            return End::Refused(text);
        }
    };
    let file = format!("{name}-try.{}", machine.speech.writes.ending());
    let folder = PathBuf::from("out");
    if let Err(e) = fs::create_dir_all(&folder) {
        return End::CouldNotRun(files::unreadable(&folder, &e));
    }
    if let Err(why) = files::write_one(&folder.join(&file), program.verified.text().as_bytes()) {
        return End::CouldNotRun(why);
    }
    let scrap = match machine.kind {
        Kind::Router => format!(
            "a scrap of board, {} by {} and {} thick or more",
            whole(width),
            whole(height),
            whole(thick)
        ),
        Kind::Plotter => {
            format!("a scrap of cloth or paper, {} by {}", whole(width), whole(height))
        }
    };
    shared.say(&format!(
        "Written: {}\nLay {scrap}, its lower left corner at X {} Y {} of the program{touch}.\n\
         1. It goes once round the bed in the air, 5 mm from its ends: stop it if it comes near an end, and correct `x` and `y`.\n\
         2. It makes ten marks in a line from left to right. From the first to the last there must be {}.\n\
         If the marks run the other way, or the distance is wrong, do not trust this file yet.\n\
         Stay beside the machine, a hand near the stop; eyes and ears protected, people out of the cutting area.\n",
        folder.join(&file).display(),
        at[0],
        at[1],
        whole(ruler)
    ));
    shared.facts(|| json!({ "program": file, "ruler_mm": ruler }).to_string() + "\n");
    End::Done
}

fn whole(mm: f64) -> String {
    length(mm, Unit::Millimetre)
}

fn list(shared: &Shared) -> End {
    let found = match files::machines(shared, None) {
        Ok(found) => found,
        Err(why) => return End::CouldNotRun(why),
    };
    if found.is_empty() {
        return End::CouldNotRun(
            "no machine files were found here: say where they are with --machines DIR".to_string(),
        );
    }
    let mut facts = Vec::new();
    let mut all_well = true;
    for file in found.values() {
        match &file.machine {
            Ok(machine) => {
                let kind = match machine.kind {
                    Kind::Router => "router",
                    Kind::Plotter => "plotter",
                };
                let bed = size([machine.bed.x, machine.bed.y], Unit::Millimetre);
                shared.say(&format!("{:<16} {kind:<8} {bed:<18} {}\n", file.name, machine.title));
                facts.push(
                    json!({ "name": file.name, "kind": kind, "title": machine.title, "usable": true,
                    "bed_mm": [machine.bed.x, machine.bed.y, machine.bed.z] }),
                );
            }
            Err(wrong) => {
                all_well = false;
                shared.say(&format!(
                    "{:<16} cannot be used ({}):\n",
                    file.name,
                    file.path.display()
                ));
                complain(&files::refusal(&file.source, wrong));
                facts.push(json!({ "name": file.name, "usable": false,
                    "errors": wrong.iter().map(|w| w.message.clone()).collect::<Vec<_>>() }));
            }
        }
    }
    shared
        .facts(|| serde_json::to_string_pretty(&facts).expect("names and numbers are JSON") + "\n");
    if all_well { End::Done } else { End::Refused(String::new()) }
}
