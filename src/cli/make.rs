//! `bradawl make JOB`.

use super::{Effort, End, Shared, complain, files};
use crate::{
    machine::Work,
    make::{self, Refused},
    paper::Paper,
    program::Unproven,
    show::Shown,
};
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};

#[derive(Args)]
pub struct MakeArgs {
    /// The job file
    job: PathBuf,
    /// Folder to write to [default: out/<the job file's name>]
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Make only these
    #[arg(long, value_delimiter = ',', value_name = "WORKS")]
    only: Vec<WorkWord>,
    /// How hard to look for the shortest way
    #[arg(long, value_enum, default_value = "normal")]
    effort: Effort,
    /// Paper for sheet.pdf
    #[arg(long, value_enum, default_value = "a4")]
    paper: SheetPaper,
}

#[derive(Clone, Copy, ValueEnum)]
enum SheetPaper {
    A4,
    Letter,
}

impl SheetPaper {
    fn paper(self) -> Paper {
        match self {
            SheetPaper::A4 => Paper::A4,
            SheetPaper::Letter => Paper::Letter,
        }
    }
}

#[derive(Clone, Copy, PartialEq, ValueEnum)]
pub enum WorkWord {
    Board,
    Foam,
    Fabric,
}

impl WorkWord {
    fn work(self) -> Work {
        match self {
            WorkWord::Board => Work::Board,
            WorkWord::Foam => Work::Foam,
            WorkWord::Fabric => Work::Fabric,
        }
    }
}

pub fn run(args: &MakeArgs, shared: &Shared) -> End {
    let file = match files::job(&args.job) {
        Ok(file) => file,
        Err(None) => return End::Refused,
        Err(Some(why)) => return End::CouldNotRun(why),
    };
    let works = works(&args.only);
    let found = match files::machines(shared, Some(&args.job)) {
        Ok(found) => found,
        Err(why) => return End::CouldNotRun(why),
    };
    let named: Vec<&str> = works
        .iter()
        .filter_map(|&w| file.job.on.machine_for(w))
        .map(|m| m.value.as_str())
        .collect();
    let Ok(machines) = files::usable(found, &named) else { return End::Refused };
    let made =
        match make::make(&file.job, &machines, &works, args.effort.into(), args.paper.paper()) {
            Ok(made) => made,
            Err(Refused::Job(wrong)) => {
                files::refuse(&file.source, &wrong);
                return End::Refused;
            }
            Err(Refused::Program(Unproven { file, objections })) => {
                for objection in objections.iter().take(20) {
                    complain(&format!("{file}: {objection}\n"));
                }
                complain(&format!(
                    "error: {file} did not pass the dry run, so nothing was written\n"
                ));
                return End::Refused;
            }
        };
    let folder = match &args.out {
        Some(folder) => folder.clone(),
        None => Path::new("out").join(args.job.file_stem().unwrap_or_default()),
    };
    if let Err(why) = files::write_all(&folder, &made.files, |name| stale(name, &works)) {
        return End::CouldNotRun(why);
    }
    let shown = Shown { job: &file.job, layout: &made.layout, programs: &made.programs };
    shared.say(&shown.summary(&folder.to_string_lossy()));
    shared.facts(|| String::from_utf8_lossy(&made.files["report.json"]).into_owned());
    End::Done
}

pub fn works(only: &[WorkWord]) -> Vec<Work> {
    let asked: Vec<Work> = only.iter().map(|word| word.work()).collect();
    Work::ALL.into_iter().filter(|work| asked.is_empty() || asked.contains(work)).collect()
}

/// A program or drawing of these works, `board.nc` or `board-2.nc`, from an earlier run: whoever finds it
/// would take it for part of this one.
fn stale(name: &str, works: &[Work]) -> bool {
    let Some(stem) = name.strip_suffix(".nc").or_else(|| name.strip_suffix(".dxf")) else {
        return false;
    };
    works.iter().any(|work| {
        let rest = stem.strip_prefix(work.word());
        rest.is_some_and(|rest| {
            rest.is_empty() || rest.strip_prefix('-').is_some_and(|n| n.parse::<u32>().is_ok())
        })
    })
}
