//! `bradawl layout JOB`.

use super::{End, Shared, files};
use crate::{layout, show};
use clap::Args;
use std::path::PathBuf;

/// How many whole fits are shown.
const CHOICES: usize = 9;

#[derive(Args)]
pub struct LayoutArgs {
    /// The job file
    job: PathBuf,
}

pub fn run(args: &LayoutArgs, shared: &Shared) -> End {
    let file = match files::job(&args.job) {
        Ok(file) => file,
        Err(None) => return End::Refused,
        Err(Some(why)) => return End::CouldNotRun(why),
    };
    let layout = match layout::lay_out(&file.job) {
        Ok(layout) => layout,
        Err(wrong) => {
            files::refuse(&file.source, &wrong);
            return End::Refused;
        }
    };
    let choices = layout::choices(&file.job, &layout.outline, &layout.fitted, CHOICES);
    shared.say(&show::fits(&file.job, &layout, &choices));
    shared.facts(|| show::Shown { job: &file.job, layout: &layout, programs: &[] }.report());
    End::Done
}
