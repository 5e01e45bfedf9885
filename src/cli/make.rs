//! `bradawl make JOB`.

use super::{
    Effort, End, Shared, complain,
    files::{self, JobFile},
};
use crate::{
    machine::Work,
    make::{self, Refused},
    paper::Paper,
    program::Unproven,
    show::Shown,
};
use clap::{Args, ValueEnum};
use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
};

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
    let mut made = Vec::new();
    for job in file.job.hands() {
        match make::make(&job, &machines, &works, args.effort.into(), args.paper.paper()) {
            Ok(panel) => made.push((job, panel)),
            Err(why) => return refused(&file, why),
        }
    }
    let folder = match &args.out {
        Some(folder) => folder.clone(),
        None => Path::new("out").join(args.job.file_stem().unwrap_or_default()),
    };
    let mut files = BTreeMap::new();
    for (_, panel) in &mut made {
        files.append(&mut panel.files);
    }
    if let Err(why) = files::write_all(&folder, &files, |name| stale(name, &works)) {
        return End::CouldNotRun(why);
    }
    let mut reports = Vec::new();
    for (job, panel) in &made {
        let shown = Shown { job, layout: &panel.layout, programs: &panel.programs };
        shared.say(&shown.summary(&folder.to_string_lossy()));
        let report = format!("{}report.json", job.prefix);
        reports.push(String::from_utf8_lossy(&files[&report]).into_owned());
    }
    shared.facts(|| in_a_list(reports));
    End::Done
}

/// One report as it is; the two of a pair in a list.
pub fn in_a_list(mut reports: Vec<String>) -> String {
    match reports.as_slice() {
        [_] => reports.remove(0),
        _ => format!("[\n{}]\n", reports.join(",\n")),
    }
}

fn refused(job: &JobFile, why: Refused) -> End {
    match why {
        Refused::Job(wrong) => files::refuse(&job.source, &wrong),
        Refused::Program(Unproven { file, objections }) => {
            for objection in objections.iter().take(20) {
                complain(&format!("{file}: {objection}\n"));
            }
            complain(&format!("error: {file} did not pass the dry run, so nothing was written\n"));
        }
    }
    End::Refused
}

pub fn works(only: &[WorkWord]) -> Vec<Work> {
    let asked: Vec<Work> = only.iter().map(|word| word.work()).collect();
    Work::ALL.into_iter().filter(|work| asked.is_empty() || asked.contains(work)).collect()
}

/// A program or drawing of these works, `board.nc` or `board-2.nc`, from an earlier run: whoever finds it
/// would take it for part of this one.
fn stale(name: &str, works: &[Work]) -> bool {
    let name = ["left-", "right-"].iter().find_map(|hand| name.strip_prefix(hand)).unwrap_or(name);
    let Some(stem) = [".nc", ".plt", ".dxf"].iter().find_map(|ending| name.strip_suffix(ending))
    else {
        return false;
    };
    works.iter().any(|work| {
        let rest = stem.strip_prefix(work.word());
        rest.is_some_and(|rest| {
            // A piece, a set-up, or a set-up of a piece.
            let numbers =
                rest.strip_prefix('-').map(|n| n.split('-').all(|n| n.parse::<u32>().is_ok()));
            rest.is_empty() || numbers == Some(true)
        })
    })
}
