//! `bradawl layout JOB`.

use super::{End, Shared, files, make::in_a_list};
use crate::{
    layout,
    show::{self, Shown},
};
use clap::Args;
use std::{
    fs,
    path::{Path, PathBuf},
};

/// How many whole fits are shown.
const CHOICES: usize = 9;

#[derive(Args)]
pub struct LayoutArgs {
    /// The job file
    job: PathBuf,
    /// Also draw the finished panel; of a pair the left hand
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
}

/// Only pictures are written over: a slip of the keyboard must not cost a job file.
fn may_write(path: &Path) -> Result<(), String> {
    if path.extension().is_none_or(|ending| !ending.eq_ignore_ascii_case("svg")) {
        return Err(format!("{} does not end in .svg: name the picture so", path.display()));
    }
    match fs::read_to_string(path) {
        Ok(text) if !text.starts_with(show::PICTURE_BEGINS) => Err(format!(
            "{} is there already and is no picture of ours: name another file",
            path.display()
        )),
        _ => Ok(()),
    }
}

pub fn run(args: &LayoutArgs, shared: &Shared) -> End {
    if let Some(Err(why)) = args.svg.as_deref().map(may_write) {
        return End::CouldNotRun(why);
    }
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
