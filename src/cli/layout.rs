//! `bradawl layout JOB`.

use super::{End, Shared, files, make::in_a_list};
use crate::{
    layout,
    show::{self, Shown},
};
use clap::Args;
use std::path::PathBuf;

/// How many whole fits are shown.
const CHOICES: usize = 9;

#[derive(Args)]
pub struct LayoutArgs {
    /// The job file
    job: PathBuf,
    /// Also draw the panel as it will hang; of a pair the left hand
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
}

pub fn run(args: &LayoutArgs, shared: &Shared) -> End {
    let file = match files::job(&args.job) {
        Ok(file) => file,
        Err(end) => return end,
    };
    let mut reports = Vec::new();
    let mut picture = None;
    for job in file.job.hands() {
        let layout = match layout::lay_out(&job) {
            Ok(layout) => layout,
            Err(wrong) => return End::Refused(files::refusal(&file.source, &wrong)),
        };
        let choices = layout::choices(&job, &layout.outline, &layout.fitted, CHOICES);
        shared.say(&show::fits(&job, &layout, &choices));
        let shown = Shown { job: &job, layout: &layout, programs: &[] };
        reports.push(shown.report());
        picture.get_or_insert_with(|| shown.picture());
    }
    if let (Some(path), Some(picture)) = (&args.svg, picture)
        && let Err(why) = files::write_one(path, picture.as_bytes())
    {
        return End::CouldNotRun(why);
    }
    shared.facts(|| in_a_list(reports));
    End::Done
}
