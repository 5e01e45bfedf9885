//! `bradawl schema`: what an editor needs to complete and check job files, machine files and price lists.

use super::{End, Shared, print};
use crate::{form, job, machine};
use clap::{Args, ValueEnum};

pub const EXAMPLES: &str = "\
Examples:
  bradawl schema job > job.schema.json
  bradawl schema machine > machine.schema.json
  bradawl schema prices > prices.schema.json
Then point your editor at it, for instance by a first line in the file:
  #:schema ./job.schema.json";

#[derive(Args)]
pub struct SchemaArgs {
    /// Which kind of file
    #[arg(value_enum)]
    of: Of,
}

#[derive(Clone, Copy, ValueEnum)]
enum Of {
    Job,
    Machine,
    Prices,
}

/// The manuals' tables of keys say what each key means, there and in the editor.
const JOBS: &str = include_str!("../../jobs/README.md");
const MACHINES: &str = include_str!("../../machines/README.md");

pub fn run(args: &SchemaArgs, shared: &Shared) -> End {
    let (title, (fields, _), page) = match args.of {
        Of::Job => ("A job for bradawl", job::keys(), JOBS),
        Of::Machine => ("A machine for bradawl", machine::keys(), MACHINES),
        Of::Prices => ("A price list for bradawl", job::prices::keys(), JOBS),
    };
    let schema = form::schema(title, &fields, &form::manual(page));
    let text = serde_json::to_string_pretty(&schema).expect("a schema is JSON") + "\n";
    if !shared.quiet {
        print(&text);
    }
    End::Done
}
