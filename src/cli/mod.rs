//! What is typed at the terminal. The only room with files, clock and terminal; it decides nothing about
//! geometry.
//!
//! Exit codes: 0 done, nothing wrong; 1 refused or faults found; 2 could not run.

mod ask;
mod dry_run;
mod files;
mod layout;
mod machines;
mod make;
mod new;
mod new_machine;
mod order;
mod output;
mod pages;
mod parallel;
mod progress;
mod schema;
mod watch;
mod template;
mod test_bay;

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::{io::Write, path::PathBuf, process::ExitCode};

/// Lays out deep-buttoned panels, writes proven programs for drilling and marking, and rehearses any program.
#[derive(Parser)]
#[command(name = "bradawl", version, max_term_width = 100)]
struct Typed {
    #[command(subcommand)]
    command: Command,
    #[command(flatten)]
    shared: Shared,
}

/// Flags that every command knows.
#[derive(Args)]
struct Shared {
    /// Folder of machine files [default: machines/ here, then beside the job file]
    #[arg(long, global = true, value_name = "DIR")]
    machines: Option<PathBuf>,
    /// The same facts on standard output for scripts; words for people go to standard error
    #[arg(long, global = true)]
    json: bool,
    /// Say nothing but what is wrong
    #[arg(long, global = true)]
    quiet: bool,
}

#[derive(Subcommand)]
enum Command {
    /// The main job: layout, marks, order, programs, drawings, dry run, preview and sheet
    #[command(after_help = make::EXAMPLES)]
    Make(make::MakeArgs),
    /// Shows the fit found, the rows, the edge distances and the nearest other whole fits
    #[command(after_help = "Example:\n  bradawl layout jobs/cafe-banquette.toml")]
    Layout(layout::LayoutArgs),
    /// Reads any G-code file, rehearses it on a machine and lists every fault with its line
    #[command(
        after_help = "Examples:\n  bradawl dry-run out/cafe-banquette/board.nc --machine bench-router\n  \
                      bradawl dry-run program.nc --machine bench-router --work 600x400x12 --trace moves.csv"
    )]
    DryRun(dry_run::DryRunArgs),
    /// Asks for the measurements, one at a time, and writes a job file
    #[command(after_help = new::EXAMPLES)]
    New(new::NewArgs),
    /// Draws board, foam and cover at full size on paper, over as many pages as it takes
    #[command(
        after_help = "Example:\n  bradawl template jobs/cafe-banquette.toml --paper letter --only board"
    )]
    Template(template::TemplateArgs),
    /// Makes a test bay, one full diamond, with less, as much and more allowance than planned
    #[command(after_help = test_bay::EXAMPLES)]
    TestBay(test_bay::TestBayArgs),
    /// Lists the machine files found, and checks them; asks for a new one; tries one out
    #[command(
        after_help = "Examples:\n  bradawl machines\n  bradawl machines --machines ~/bench/machines\n  \
                      bradawl machines my-router          asks, and writes machines/my-router.toml\n  \
                      bradawl machines --try my-router    writes a harmless program to try it with"
    )]
    Machines(machines::MachinesArgs),
    /// Prints the JSON Schema of job files, machine files or price lists, so that an editor completes and checks them
    #[command(after_help = schema::EXAMPLES)]
    Schema(schema::SchemaArgs),
    /// Prints what a shell needs to complete commands and flags
    #[command(after_help = pages::COMPLETIONS)]
    Completions(pages::CompletionsArgs),
    /// Writes the manual pages
    #[command(after_help = pages::MAN)]
    Man(pages::ManArgs),
    /// Orders places read from a file and says how near the least possible it is
    #[command(hide = true)]
    Order(order::OrderArgs),
}

/// How hard to look for a shorter way between the holes and strokes.
#[derive(Clone, Copy, ValueEnum)]
enum Effort {
    Quick,
    Normal,
    Thorough,
}

impl From<Effort> for crate::route::Effort {
    fn from(effort: Effort) -> Self {
        match effort {
            Effort::Quick => crate::route::Effort::Quick,
            Effort::Normal => crate::route::Effort::Normal,
            Effort::Thorough => crate::route::Effort::Thorough,
        }
    }
}

/// How a command ended.
enum End {
    Done,
    /// Refused, or faults found; what is still to be said of it.
    Refused(String),
    /// Could not run, and why; empty if it has been said.
    CouldNotRun(String),
}

impl End {
    /// Says what is still to be said of it.
    fn say(&self) {
        match self {
            End::CouldNotRun(why) if !why.is_empty() => complain(&format!("error: {why}\n")),
            End::Refused(text) => complain(text),
            _ => {}
        }
    }

    /// What is wrong, as text without colours; nothing if all is well.
    fn why(&self) -> Option<String> {
        let (End::CouldNotRun(why) | End::Refused(why)) = self else { return None };
        Some(anstream::adapter::strip_str(why).to_string())
    }

    /// The worse of two ends.
    fn or(self, other: End) -> End {
        match (&self, &other) {
            (End::CouldNotRun(_), _) | (_, End::Done) => self,
            (End::Refused(_), End::Refused(_)) => self,
            _ => other,
        }
    }
}

/// Runs what was typed.
pub fn run() -> ExitCode {
    let Typed { command, shared } = Typed::parse();
    let end = match command {
        Command::Make(args) => make::run(&args, &shared),
        Command::Layout(args) => layout::run(&args, &shared),
        Command::DryRun(args) => dry_run::run(&args, &shared),
        Command::New(args) => new::run(&args, &shared),
        Command::Template(args) => template::run(&args, &shared),
        Command::TestBay(args) => test_bay::run(&args, &shared),
        Command::Machines(args) => machines::run(&args, &shared),
        Command::Schema(args) => schema::run(&args, &shared),
        Command::Completions(args) => pages::completions(&args),
        Command::Man(args) => pages::man(&args, &shared),
        Command::Order(args) => order::run(&args, &shared),
    };
    end.say();
    match end {
        End::Done => ExitCode::SUCCESS,
        End::Refused(_) => ExitCode::from(1),
        End::CouldNotRun(_) => ExitCode::from(2),
    }
}

impl Shared {
    /// Words for people: to standard output, or to standard error where that is for scripts.
    fn say(&self, text: &str) {
        if self.quiet {
            return;
        }
        if self.json { complain(text) } else { print(text) }
    }

    /// Facts for scripts, if they were asked for.
    fn facts(&self, facts: impl FnOnce() -> String) {
        if self.json {
            print(&facts());
        }
    }
}

/// A closed pipe is the reader's wish, not a fault.
fn print(text: &str) {
    let _ = anstream::stdout().write_all(text.as_bytes());
}

fn complain(text: &str) {
    let _ = anstream::stderr().write_all(text.as_bytes());
}
