//! `bradawl new [JOB]`: the questions at the terminal, or their answers as flags.

use super::{End, Shared, complain, files, print};
use crate::{
    ask::{self, Answers, Ended, Interview, Kind, Old, QUESTIONS},
    form,
};
use clap::{Arg, ArgMatches, Args, FromArgMatches};
use serde_json::json;
use std::{
    collections::BTreeMap,
    fs,
    io::{self, IsTerminal, Write},
    path::{Path, PathBuf},
};
use toml_edit::DocumentMut;

pub const EXAMPLES: &str = "\
Examples:
  bradawl new                              asks for everything
  bradawl new jobs/nook.toml               asks, and writes that file
  bradawl new nook.toml --from old.toml    asks, with the answers of an old job in [brackets]
  bradawl new nook.toml --from old.toml --title Nook --width \"33 1/16 in\"
                                           without a terminal: the rest is as in the old job";

#[derive(Args)]
pub struct NewArgs {
    /// The job file to write [default: the job's title as a file name]
    job: Option<PathBuf>,
    /// Start from the answers of this job
    #[arg(long, value_name = "OTHER")]
    from: Option<PathBuf>,
    /// Throw away the answers of an interrupted start
    #[arg(long)]
    afresh: bool,
    #[command(flatten)]
    given: Given,
}

/// A flag for each question.
struct Given(Answers);

impl FromArgMatches for Given {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let mut given = Given(Answers::default());
        given.update_from_arg_matches(matches)?;
        Ok(given)
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        for question in QUESTIONS {
            if let Some(answer) = matches.get_one::<String>(question.word) {
                self.0.0.insert(question.word.to_string(), answer.clone());
            }
        }
        Ok(())
    }
}

impl Args for Given {
    fn augment_args(command: clap::Command) -> clap::Command {
        command.args(QUESTIONS.iter().map(|question| {
            Arg::new(question.word)
                .long(question.word)
                .value_name(match question.kind {
                    Kind::Number => "NUMBER",
                    Kind::Length => "LENGTH",
                    Kind::Edges => "LENGTHS",
                    Kind::SizeOrCount { .. } => "LENGTH OR COUNT",
                    Kind::Choice(_) | Kind::Table { .. } => "WORD",
                    Kind::Machine(_) => "MACHINE",
                    Kind::Fit => "ACROSS x ROWS",
                    Kind::Text | Kind::TextOrNone => "TEXT",
                })
                .help(question.asks)
                .help_heading("Answers")
        }))
    }

    fn augment_args_for_update(command: clap::Command) -> clap::Command {
        Self::augment_args(command)
    }
}

pub fn run(args: &NewArgs, shared: &Shared) -> End {
    match start(args, shared) {
        Ok(end) | Err(end) => end,
    }
}

fn start(args: &NewArgs, shared: &Shared) -> Result<End, End> {
    let named = match &args.job {
        Some(job) if job.extension().is_none() => Some(job.with_extension("toml")),
        Some(job) => Some(job.clone()),
        None => None,
    };
    let asks = io::stdin().is_terminal();
    // What is said by flags is a job of its own, not the rest of one that was interrupted.
    let goes_on = args.given.0.0.is_empty() && !args.afresh;
    let mut path = match named {
        None if goes_on => the_unfinished()?,
        named => named,
    };
    if let Some(path) = path.as_ref().filter(|path| path.exists()) {
        return Err(End::CouldNotRun(format!(
            "{0} is there already, and nothing is written over it: name another file, or start from it with --from {0}",
            path.display()
        )));
    }
    let mut kept =
        match path.as_deref().map(unfinished).filter(|file| file.exists() && !args.afresh) {
            Some(file) => Unfinished::read(&file).map_err(End::CouldNotRun)?,
            None => Unfinished::default(),
        };
    let from = match (&args.from, &kept.from) {
        (Some(asked), Some(begun)) if asked != begun => {
            return Err(End::CouldNotRun(format!(
                "this job was begun from {}: leave --from out to go on with it, or begin --afresh",
                begun.display()
            )));
        }
        (asked, begun) => asked.as_ref().or(begun.as_ref()).cloned(),
    };
    let old = from.as_deref().map(old_job).transpose()?;
    if old.is_some() && args.given.0.get("units").is_some() {
        return Err(End::CouldNotRun(
            "the bare numbers of an old job keep their unit: leave --units out, and write lengths with theirs, \
             such as \"9 in\""
                .to_string(),
        ));
    }
    let found = files::machines(shared, path.as_deref()).map_err(End::CouldNotRun)?;
    let machines = files::usable(found, &[]).unwrap_or_default();
    let mut interview = Interview::new(old, &machines);
    kept.answers.0.retain(|word, _| args.given.0.get(word).is_none());
    interview.fill_in(&kept.answers, false);
    let wrong = interview.fill_in(&args.given.0, !asks);
    if !wrong.is_empty() {
        return Err(End::CouldNotRun(wrong.join("\n       ")));
    }
    if asks {
        let taken_up = kept.answers.0.len();
        if let (Some(path), 1..) = (&path, taken_up) {
            converse(
                shared,
                &format!(
                    "Going on with {} after {taken_up} answers (--afresh begins anew).\n",
                    path.display()
                ),
            );
        }
        let mut keep = |interview: &Interview| keep(interview, &mut path, from.as_deref());
        let ended = if shared.json {
            ask::talk(&mut interview, &mut io::stdin().lock(), &mut io::stderr(), &mut keep)
        } else {
            ask::talk(&mut interview, &mut io::stdin().lock(), &mut io::stdout(), &mut keep)
        };
        match ended {
            Ok(Ended::Done) => {}
            Ok(Ended::Stopped) => {
                if let Some(path) = path.filter(|path| unfinished(path).exists()) {
                    converse(
                        shared,
                        &format!(
                            "The answers are kept in {}; go on with: bradawl new {}\n",
                            unfinished(&path).display(),
                            path.display()
                        ),
                    );
                }
                return Ok(End::Done);
            }
            Err(e) => return Err(End::CouldNotRun(format!("the conversation broke off: {e}"))),
        }
    }
    let open: Vec<String> =
        interview.open().map(|q| format!("  {:<20} {}", format!("--{}", q.word), q.asks)).collect();
    if !open.is_empty() {
        return Err(End::CouldNotRun(format!(
            "there is no terminal to ask at, and these answers are missing:\n{}",
            open.join("\n")
        )));
    }
    let path = path.unwrap_or_else(|| free_name(&interview));
    write(&path, &interview.text()).map_err(End::CouldNotRun)?;
    let _ = fs::remove_file(unfinished(&path));
    shared.say(&format!("Written: {0}\nNext:    bradawl make {0}\n", path.display()));
    shared.facts(|| json!({ "job": path.to_string_lossy() }).to_string() + "\n");
    Ok(End::Done)
}

/// What belongs to the conversation is said even where nothing else is.
fn converse(shared: &Shared, text: &str) {
    if shared.json { complain(text) } else { print(text) }
}

fn old_job(path: &Path) -> Result<Old, End> {
    let source = files::source(path).map_err(End::CouldNotRun)?;
    Old::read(&source).map_err(|wrong| End::Refused(files::refusal(&source, &wrong)))
}

/// Where the answers are kept until the job is written: beside it.
fn unfinished(job: &Path) -> PathBuf {
    let mut name = job.as_os_str().to_owned();
    name.push(".unfinished");
    PathBuf::from(name)
}

/// The job that was begun in this folder and not finished, if there is one.
fn the_unfinished() -> Result<Option<PathBuf>, End> {
    let entries =
        fs::read_dir(".").map_err(|e| End::CouldNotRun(files::unreadable(Path::new("."), &e)))?;
    let names = entries.filter_map(|entry| entry.ok()?.file_name().into_string().ok());
    let mut begun: Vec<String> = names
        .filter_map(|name| Some(name.strip_suffix(".toml.unfinished")?.to_string() + ".toml"))
        .collect();
    begun.sort();
    match begun.as_slice() {
        [] => Ok(None),
        [one] => Ok(Some(PathBuf::from(one))),
        several => Err(End::CouldNotRun(format!(
            "several jobs are not finished; say which: bradawl new {}",
            form::either(several.iter().cloned())
        ))),
    }
}

/// A file name from the job's title that is not taken yet.
fn free_name(interview: &Interview) -> PathBuf {
    let title = deunicode::deunicode(interview.answers().get("title").unwrap_or_default());
    let words: Vec<String> = title
        .split(|c: char| !c.is_ascii_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_ascii_lowercase)
        .collect();
    let stem = if words.is_empty() { "job".to_string() } else { words.join("-") };
    let names =
        (1..).map(|n| if n == 1 { format!("{stem}.toml") } else { format!("{stem}-{n}.toml") });
    let mut free =
        names.map(PathBuf::from).filter(|path| !path.exists() && !unfinished(path).exists());
    free.next().expect("one of the whole numbers is free")
}

/// Keeps the answers beside the job to be.
fn keep(interview: &Interview, path: &mut Option<PathBuf>, from: Option<&Path>) -> io::Result<()> {
    if interview.answers().get("title").is_none() && path.is_none() {
        return Ok(());
    }
    let path = path.get_or_insert_with(|| free_name(interview));
    let kept =
        Unfinished { answers: interview.answers().clone(), from: from.map(Path::to_path_buf) };
    let mut file = files::beside(path)?;
    file.write_all(kept.text().as_bytes())?;
    file.persist(unfinished(path)).map_err(|e| e.error)?;
    Ok(())
}

/// Writes the job whole, and never over another file.
fn write(path: &Path, text: &str) -> Result<(), String> {
    let trouble = |e: io::Error| format!("cannot write {}: {e}", path.display());
    let mut file = files::beside(path).map_err(trouble)?;
    file.write_all(text.as_bytes()).map_err(trouble)?;
    file.persist_noclobber(path).map_err(|e| trouble(e.error))?;
    Ok(())
}

/// The answers of a job that was begun.
#[derive(Default)]
struct Unfinished {
    answers: Answers,
    from: Option<PathBuf>,
}

impl Unfinished {
    fn text(&self) -> String {
        let mut file = DocumentMut::new();
        if let Some(from) = &self.from {
            file.insert("from", toml_edit::value(from.to_string_lossy().into_owned()));
        }
        for (word, answer) in &self.answers.0 {
            file.insert(word, toml_edit::value(answer));
        }
        format!("# Answers to `bradawl new`, kept until the job file is written.\n{file}")
    }

    fn read(path: &Path) -> Result<Self, String> {
        let source = files::source(path)?;
        let all: BTreeMap<String, String> = toml::from_str(&source.text).map_err(|_| {
            format!("{} cannot be read: begin --afresh, or delete it", path.display())
        })?;
        let mut answers = Answers(all);
        let from = answers.0.remove("from").map(PathBuf::from);
        Ok(Unfinished { answers, from })
    }
}
