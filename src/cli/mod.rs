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
mod new_machine;
mod order;
mod progress;
mod template;

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
    #[command(after_help = "Example: bradawl make jobs/cafe-banquette.toml --only board,foam")]
    Make(make::MakeArgs),
    /// Shows the fit found, the rows, the edge distances and the nearest other whole fits
    #[command(after_help = "Example: bradawl layout jobs/cafe-banquette.toml")]
    Layout(layout::LayoutArgs),
    /// Reads any G-code file, rehearses it on a machine and lists every fault with its line
    #[command(
        after_help = "Example: bradawl dry-run program.nc --machine bench-router --work 600x400x12"
    )]
    DryRun(dry_run::DryRunArgs),
    /// Asks for the measurements and writes a job file
    New {
        /// The job file to write
        job: Option<PathBuf>,
    },
    /// Draws board, foam and cover at full size on paper, over as many pages as it takes
    #[command(
        after_help = "Example: bradawl template jobs/cafe-banquette.toml --paper letter --only board"
    )]
    Template(template::TemplateArgs),
    /// Lists the machine files found, and checks them; asks for a new one; tries one out
    #[command(
        after_help = "Example: bradawl machines my-router, then bradawl machines --try my-router"
    )]
    Machines(machines::MachinesArgs),
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
    /// Refused, or faults found; all has been said.
    Refused,
    /// Could not run, and why.
    CouldNotRun(String),
}

/// Runs what was typed.
pub fn run() -> ExitCode {
    let Typed { command, shared } = Typed::parse();
    let end = match command {
        Command::Make(args) => make::run(&args, &shared),
        Command::Layout(args) => layout::run(&args, &shared),
        Command::DryRun(args) => dry_run::run(&args, &shared),
        Command::New { .. } => End::CouldNotRun(
            "`bradawl new` is not made yet: copy one of the files in jobs/ and change it"
                .to_string(),
        ),
        Command::Template(args) => template::run(&args, &shared),
        Command::Machines(args) => machines::run(&args, &shared),
        Command::Order(args) => order::run(&args, &shared),
    };
    match end {
        End::Done => ExitCode::SUCCESS,
        End::Refused => ExitCode::from(1),
        End::CouldNotRun(why) => {
            complain(&format!("error: {why}\n"));
            ExitCode::from(2)
        }
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
