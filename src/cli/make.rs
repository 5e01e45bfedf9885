//! `bradawl make JOB...`: one job or several at once, each for itself.

use super::{
    Effort, End, Shared,
    files::{self, JobFile},
    output, parallel,
    progress::Progress,
    test_bay, watch,
};
use crate::{
    machine::Work,
    make::{self, Refused, Wanted},
    notice,
    paper::Paper,
    program::Unproven,
    show::{Shown, both_hands},
    words,
};
use clap::{Args, ValueEnum};
use serde_json::{Value, json};
use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
};

pub const EXAMPLES: &str = "\
Examples:
  bradawl make jobs/cafe-banquette.toml
  bradawl make jobs/cafe-banquette.toml --only board,foam --out try
  bradawl make jobs/*.toml                 several at once; one that is refused stops no other
  bradawl make jobs/nook.toml --prices my-prices.toml
  bradawl make jobs/nook.toml --watch      again whenever the job, its drawing or a machine is saved";

#[derive(Args)]
pub struct MakeArgs {
    /// The job file, or several
    #[arg(required = true, value_name = "JOB")]
    pub jobs: Vec<PathBuf>,
    /// Folder to write to; several jobs get one each within it [default: out/<the job file's name>]
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
    /// Make a test bay as well, as `bradawl test-bay` does, in a folder beside the job's own
    #[arg(long)]
    test_bay: bool,
    /// A price list: the sheet, the report and the screen then hold a quote
    #[arg(long, value_name = "FILE")]
    pub prices: Option<PathBuf>,
    /// Write over files in the output folder that were changed or put there by hand
    #[arg(long)]
    replace: bool,
    /// Make again whenever a job, a drawing it names or a machine file is saved, until stopped with Ctrl-C
    #[arg(long)]
    watch: bool,
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

/// One job and where it goes.
struct Task<'a> {
    job: &'a Path,
    folder: PathBuf,
}

/// What came of one job that was made.
#[derive(Default)]
struct Made {
    /// Everything that is to be said of it alone.
    summary: String,
    /// One line of it, among others.
    short: String,
    warnings: Vec<String>,
    report: String,
}

pub fn run(args: &MakeArgs, shared: &Shared) -> End {
    if args.watch { watch::run(args, shared) } else { once(args, shared) }
}

/// Makes every job, and says what came of it.
pub fn once(args: &MakeArgs, shared: &Shared) -> End {
    let tasks = match tasks(args) {
        Ok(tasks) => tasks,
        Err(why) => return End::CouldNotRun(why),
    };
    let progress = Progress::jobs(shared, tasks.len());
    let ends = parallel::map(&tasks, |task| {
        let made = one(task, args, shared, &progress);
        progress.job_done();
        made
    });
    drop(progress);
    match <[_; 1]>::try_from(ends) {
        Ok([Ok(made)]) => {
            shared.say(&made.summary);
            shared.facts(|| made.report);
            End::Done
        }
        Ok([Err(end)]) => {
            shared.facts(|| in_lines(&not_made(&tasks[0], &end)));
            end
        }
        Err(ends) => together(&tasks, ends, shared),
    }
}

/// Where each job goes.
pub fn folders(args: &MakeArgs) -> Vec<PathBuf> {
    tasks(args).map(|tasks| tasks.into_iter().map(|t| t.folder).collect()).unwrap_or_default()
}

fn tasks(args: &MakeArgs) -> Result<Vec<Task<'_>>, String> {
    let folder = |job: &PathBuf| {
        let stem = job.file_stem().unwrap_or_default();
        match &args.out {
            Some(folder) if args.jobs.len() == 1 => folder.clone(),
            Some(folder) => folder.join(stem),
            None => Path::new("out").join(stem),
        }
    };
    let tasks: Vec<Task> = args.jobs.iter().map(|job| Task { job, folder: folder(job) }).collect();
    for (i, task) in tasks.iter().enumerate() {
        if let Some(other) = tasks[..i].iter().find(|other| other.folder == task.folder) {
            return Err(format!(
                "{} and {} would both be written to {}: make one of them by itself, with --out",
                other.job.display(),
                task.job.display(),
                task.folder.display()
            ));
        }
    }
    Ok(tasks)
}

fn one(task: &Task, args: &MakeArgs, shared: &Shared, progress: &Progress) -> Result<Made, End> {
    let mut file = files::job(task.job)?;
    file.job.prices = args.prices.as_deref().map(files::prices).transpose()?;
    let works = works(&args.only);
    let found = files::machines(shared, Some(task.job)).map_err(End::CouldNotRun)?;
    let named: Vec<&str> = works
        .iter()
        .filter_map(|&w| file.job.on.machine_for(w))
        .map(|m| m.value.as_str())
        .collect();
    let machines = files::usable(found, &named).map_err(End::Refused)?;
    let (effort, paper) = (args.effort.into(), args.paper.paper());
    let mut panels = Vec::new();
    for job in file.job.hands() {
        let made = make::make(
            &Wanted { job: &job, machines: &machines, works: &works, effort, paper },
            &|step| progress.step(step),
        );
        panels.push((job, made.map_err(|why| refused(&file, why))?));
    }
    let bays = match args.test_bay {
        true => {
            let folder = test_bay::beside(&task.folder);
            let bays = test_bay::bays(&file, &panels[0].1.layout, &machines, &works, &folder)?;
            Some((folder, bays.files))
        }
        false => None,
    };
    let mut all = BTreeMap::new();
    for (_, panel) in &mut panels {
        all.append(&mut panel.files);
    }
    output::write_all(&task.folder, &all, |name| stale(name, &works), args.replace)?;
    if let Some((folder, files)) = &bays {
        output::write_all(folder, files, |_| false, args.replace)?;
    }
    let mut done = Made::default();
    let (mut buttons, mut programs, mut seconds) = (0, 0, 0.0);
    let mut reports = Vec::new();
    let shown: Vec<Shown> = panels
        .iter()
        .map(|(job, panel)| Shown { job, layout: &panel.layout, programs: &panel.programs })
        .collect();
    for ((job, panel), shown) in panels.iter().zip(&shown) {
        done.summary += &shown.summary(&task.folder.to_string_lossy());
        done.warnings.extend(shown.all_warnings());
        let report = &all[&format!("{}report.json", job.prefix)];
        reports.push(String::from_utf8_lossy(report).into_owned());
        buttons += panel.layout.buttons.len();
        programs += panel.programs.len();
        seconds += panel.programs.iter().map(|p| p.verified.rehearsal().time.total()).sum::<f64>();
    }
    done.summary += &both_hands(&shown);
    done.short = format!(
        "{}, {}, {}",
        words::count(buttons, "button", "buttons"),
        words::count(programs, "program", "programs"),
        words::duration(seconds)
    );
    if let Some((folder, _)) = bays {
        let folder = folder.to_string_lossy();
        done.summary +=
            &format!("Test bay: {folder}/ - button all three before the roll is cut.\n");
    }
    done.report = in_a_list(reports);
    Ok(done)
}

/// One report as it is; the two of a pair in a list.
pub fn in_a_list(mut reports: Vec<String>) -> String {
    match reports.as_slice() {
        [_] => reports.remove(0),
        _ => format!("[\n{}]\n", reports.join(",\n")),
    }
}

pub fn refused(job: &JobFile, why: Refused) -> End {
    match why {
        Refused::Job(wrong) => End::Refused(files::refusal(&job.source, &wrong)),
        Refused::Program(unproven) => End::Refused(unproven_program(&unproven)),
    }
}

fn unproven_program(Unproven { file, objections }: &Unproven) -> String {
    let mut text = String::new();
    for objection in objections.iter().take(20) {
        text += &format!("{file}: {objection}\n");
    }
    text + &format!("error: {file} did not pass the dry run, so nothing was written\n")
}

/// One summary of several jobs, in the order in which they were named.
fn together(tasks: &[Task], ends: Vec<Result<Made, End>>, shared: &Shared) -> End {
    let (mut lines, mut facts) = (Vec::new(), Vec::new());
    let (mut made, mut worst) = (0, End::Done);
    let widest =
        tasks.iter().map(|task| task.job.to_string_lossy().chars().count()).max().unwrap_or(0);
    for (task, end) in tasks.iter().zip(ends) {
        let job = task.job.to_string_lossy();
        let folder = task.folder.to_string_lossy();
        let outcome = match end {
            Ok(done) => {
                made += 1;
                for warning in &done.warnings {
                    shared.say(&format!("{job}: Warning: {warning}\n"));
                }
                let report: Value = serde_json::from_str(&done.report).expect("the report is JSON");
                facts
                    .push(json!({ "file": job, "made": true, "folder": folder, "report": report }));
                format!("{}, in {folder}/", done.short)
            }
            Err(end) => {
                facts.push(not_made(task, &end));
                // Said here, in its turn; only the exit code is left.
                end.say();
                let (word, code) = match end {
                    End::CouldNotRun(_) => ("could not run", End::CouldNotRun(String::new())),
                    _ => ("refused", End::Refused(String::new())),
                };
                worst = worst.or(code);
                format!("{word}; its output folder is as it was")
            }
        };
        lines.push(format!("  {job:<widest$}  {outcome}\n"));
    }
    let refused = tasks.len() - made;
    let count = words::count(tasks.len(), "job", "jobs");
    shared.say(&format!("\n{count}: {made} made, {refused} not\n{}", lines.concat()));
    if made > 0 {
        shared.say(&format!("\nSafety: {}\n        {}\n", notice::SHORT[0], notice::SHORT[1]));
    }
    shared.facts(|| in_lines(&facts.into()));
    worst
}

/// What a script learns of a job that was not made.
fn not_made(task: &Task, end: &End) -> Value {
    json!({ "file": task.job.to_string_lossy(), "made": false, "why": end.why() })
}

fn in_lines(facts: &Value) -> String {
    format!("{facts:#}\n")
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
