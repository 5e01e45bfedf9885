//! `bradawl machines`.

use super::{End, Shared, files};
use crate::{machine::Kind, units::Unit, words::size};
use serde_json::json;

pub fn run(shared: &Shared) -> End {
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
                files::refuse(&file.source, wrong);
                facts.push(json!({ "name": file.name, "usable": false,
                    "errors": wrong.iter().map(|w| w.message.clone()).collect::<Vec<_>>() }));
            }
        }
    }
    shared
        .facts(|| serde_json::to_string_pretty(&facts).expect("names and numbers are JSON") + "\n");
    if all_well { End::Done } else { End::Refused }
}
