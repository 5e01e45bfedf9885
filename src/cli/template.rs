//! `bradawl template JOB`.

use super::{
    End, Shared, files,
    make::{WorkWord, works},
    output,
};
use crate::{
    layout,
    paper::Paper,
    show::{Shown, Template},
    words::count,
};
use clap::{Args, ValueEnum};
use serde_json::json;
use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
};

#[derive(Args)]
pub struct TemplateArgs {
    /// The job file
    job: PathBuf,
    /// Folder to write to [default: out/<the job file's name>]
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Draw only these
    #[arg(long, value_delimiter = ',', value_name = "WORKS")]
    only: Vec<WorkWord>,
    /// Paper in the printer
    #[arg(long, value_enum, default_value = "a4")]
    paper: TemplatePaper,
    /// Write over files in the output folder that were changed or put there by hand
    #[arg(long)]
    replace: bool,
}

#[derive(Clone, Copy, ValueEnum)]
enum TemplatePaper {
    A4,
    Letter,
    A3,
}

pub fn run(args: &TemplateArgs, shared: &Shared) -> End {
    let file = match files::job(&args.job) {
        Ok(file) => file,
        Err(end) => return end,
    };
    let paper = match args.paper {
        TemplatePaper::A4 => Paper::A4,
        TemplatePaper::Letter => Paper::Letter,
        TemplatePaper::A3 => Paper::A3,
    };
    let mut templates = Vec::new();
    for job in file.job.hands() {
        let layout = match layout::lay_out(&job) {
            Ok(layout) => layout,
            Err(wrong) => return End::Refused(files::refusal(&file.source, &wrong)),
        };
        let shown = Shown { job: &job, layout: &layout, programs: &[] };
        for work in works(&args.only) {
            let of_work = shown.templates(work, paper).into_iter();
            templates.extend(
                of_work.map(|t| Template { file: format!("{}{}", job.prefix, t.file), ..t }),
            );
        }
    }
    let folder = match &args.out {
        Some(folder) => folder.clone(),
        None => Path::new("out").join(args.job.file_stem().unwrap_or_default()),
    };
    let bytes: BTreeMap<String, Vec<u8>> =
        templates.iter().map(|t| (t.file.clone(), t.bytes.clone())).collect();
    if let Err(end) = output::write_all(&folder, &bytes, |_| false, args.replace) {
        return end;
    }
    for template in &templates {
        let pages = count(template.pages, "page", "pages");
        let path = folder.join(&template.file);
        shared.say(&format!("{}  {pages} of {}\n", path.display(), paper.word()));
    }
    shared.say(
        "Print at 100 %, and measure the two 100 mm lines on the first page before you cut.\n",
    );
    shared.facts(|| {
        let facts: Vec<_> =
            templates.iter().map(|t| json!({ "file": t.file, "pages": t.pages })).collect();
        format!("{}\n", json!({ "paper": paper.word(), "templates": facts }))
    });
    End::Done
}
