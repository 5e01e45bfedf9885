//! `bradawl test-bay JOB`.

use super::{
    End, Shared,
    files::{self, JobFile},
    output,
};
use crate::{
    layout::{self, Layout},
    machine::{Machine, Work},
    make::{self, Wanted},
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
    let layout = layout::lay_out(&file.job)
        .map_err(|wrong| End::Refused(files::refusal(&file.source, &wrong)))?;
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
            let stem = args.job.file_stem().unwrap_or_default();
            beside(&Path::new("out").join(stem))
        }
    };
    let bays = bays(&file, &layout, &machines, &Work::ALL, &folder)?;
    output::write_all(&folder, &bays.files, |_| false, args.replace)?;
    shared.say(&bays.said);
    shared.facts(|| super::make::in_a_list(bays.reports));
    Ok(End::Done)
}

/// Where the test bay of a job goes that itself goes to `folder`.
pub fn beside(folder: &Path) -> PathBuf {
    let mut name = folder.file_name().unwrap_or_default().to_os_string();
    name.push("-test-bay");
    folder.with_file_name(name)
}

/// All that is written and said of the three bays.
pub struct Bays {
    pub files: BTreeMap<String, Vec<u8>>,
    pub said: String,
    pub reports: Vec<String>,
}

/// The three bays of a job that was laid out, to be written to `folder`.
pub fn bays(
    file: &JobFile,
    layout: &Layout,
    machines: &BTreeMap<String, Machine>,
    works: &[Work],
    folder: &Path,
) -> Result<Bays, End> {
    let mut bays = Bays { files: BTreeMap::new(), said: String::new(), reports: Vec::new() };
    for bay in layout::bays(&file.job, &layout.fitted, &layout.cover) {
        let mut panel = make::make(
            &Wanted { job: &bay, machines, works, effort: Effort::Normal, paper: Paper::A4 },
            &|_| {},
        )
        .map_err(|why| super::make::refused(file, why))?;
        let shown = Shown { job: &bay, layout: &panel.layout, programs: &panel.programs };
        bays.said += &shown.summary(&folder.to_string_lossy());
        bays.said += "\n";
        bays.reports.push(shown.report());
        bays.files.append(&mut panel.files);
    }
    bays.said += "Button all three in cheap cloth on the same foam. Keep the figures of the one whose pleats lie shut and whose\n\
                  shapes are full, and write them into [fabric.allowance.measured].\n";
    Ok(bays)
}
