//! `bradawl test-bay JOB`.

use super::{End, Shared, files, output};
use crate::{
    layout,
    machine::Work,
    make::{self, Refused},
    paper::Paper,
    route::Effort,
    show::Shown,
};
use clap::Args;
use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
};

pub const EXAMPLES: &str = "\
Example:
  bradawl test-bay jobs/cafe-banquette.toml    writes out/cafe-banquette-test-bay/";

#[derive(Args)]
pub struct TestBayArgs {
    /// The job file
    job: PathBuf,
    /// Folder to write to [default: out/<the job file's name>-test-bay]
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Write over files in the output folder that were changed or put there by hand
    #[arg(long)]
    replace: bool,
}

/// Makes the three bays, all or none.
pub fn run(args: &TestBayArgs, shared: &Shared) -> End {
    made(args, shared).unwrap_or_else(|end| end)
}

fn made(args: &TestBayArgs, shared: &Shared) -> Result<End, End> {
    let file = files::job(&args.job)?;
    let refuse = |wrong: &[_]| End::Refused(files::refusal(&file.source, wrong));
    let layout = layout::lay_out(&file.job).map_err(|wrong| refuse(&wrong))?;
    let found = files::machines(shared, Some(&args.job)).map_err(End::CouldNotRun)?;
    let named: Vec<&str> = Work::ALL
        .iter()
        .filter_map(|&work| file.job.on.machine_for(work))
        .map(|machine| machine.value.as_str())
        .collect();
    let machines = files::usable(found, &named).map_err(End::Refused)?;
    let folder = match &args.out {
        Some(folder) => folder.clone(),
        None => {
            let stem = args.job.file_stem().unwrap_or_default().to_string_lossy();
            Path::new("out").join(format!("{stem}-test-bay"))
        }
    };
    let (mut all, mut said, mut reports) = (BTreeMap::new(), String::new(), Vec::new());
    for bay in layout::bays(&file.job, &layout.fitted, &layout.cover) {
        let mut panel = make::make(&bay, &machines, &Work::ALL, Effort::Normal, Paper::A4, &|_| {})
            .map_err(|why| match why {
                Refused::Job(wrong) => refuse(&wrong),
                Refused::Program(unproven) => {
                    End::Refused(format!("error: {} did not pass the dry run\n", unproven.file))
                }
            })?;
        let shown = Shown { job: &bay, layout: &panel.layout, programs: &panel.programs };
        said += &shown.summary(&folder.to_string_lossy());
        said += "\n";
        reports.push(shown.report());
        all.append(&mut panel.files);
    }
    output::write_all(&folder, &all, |_| false, args.replace)?;
    shared.say(&said);
    shared.say(
        "Button all three in cheap cloth on the same foam. Keep the figures of the one whose pleats lie shut and whose\n\
         diamonds are full, and write them into [fabric.allowance.measured].\n",
    );
    shared.facts(|| super::make::in_a_list(reports));
    Ok(End::Done)
}
