//! `bradawl dry-run PROGRAM --machine NAME`.

use super::{End, Shared, complain, files, progress::Progress};
use crate::{
    form,
    machine::{Language, Machine},
    show,
    sim::{self, Fault, Holes, Kind, Move, MoveKind, Rehearsal, Setting, WorkSize},
    units::{self, Unit},
};
use clap::Args;
use serde_json::json;
use std::{
    fs::{self, File},
    io::{self, BufReader, BufWriter, Read, Write},
    path::{Path, PathBuf},
};

#[derive(Args)]
pub struct DryRunArgs {
    /// The program: any G-code file
    program: PathBuf,
    /// The machine to rehearse it on, by the name of its file
    #[arg(long, value_name = "NAME")]
    machine: String,
    /// Size of the work as width x height x thickness, such as 1400x600x12 or "55inx24inx0.5in"
    #[arg(long, value_name = "SIZE", value_parser = work_size)]
    work: Option<WorkSize>,
    /// Also write every move to this file, as comma-separated values
    #[arg(long, value_name = "FILE.csv")]
    trace: Option<PathBuf>,
    /// Also write a page that plays the program back
    #[arg(long, value_name = "FILE.html")]
    preview: Option<PathBuf>,
}

/// The most moves that a page plays back smoothly.
const SHOWN: usize = 200_000;

/// Three lengths with an x between them.
fn work_size(text: &str) -> Result<WorkSize, String> {
    let sides: Vec<Option<f64>> =
        text.split('x').map(|side| units::length(side, Unit::Millimetre)).collect();
    match sides.as_slice() {
        &[Some(x), Some(y), Some(thickness)] if x > 0.0 && y > 0.0 && thickness >= 0.0 => {
            Ok(WorkSize { x, y, thickness, at: [0.0; 2] })
        }
        _ => Err("write width x height x thickness, such as 1400x600x12".to_string()),
    }
}

pub fn run(args: &DryRunArgs, shared: &Shared) -> End {
    let machines = match files::machines(shared, None) {
        Ok(found) => match files::usable(found, &[args.machine.as_str()]) {
            Ok(machines) => machines,
            Err(wrong) => return End::Refused(wrong),
        },
        Err(why) => return End::CouldNotRun(why),
    };
    let Some(machine) = machines.get(&args.machine) else {
        let names: Vec<&str> = machines.keys().map(String::as_str).collect();
        let near = form::nearest(&args.machine, &names);
        return End::CouldNotRun(format!(
            "there is no machine file `{}.toml`; {}there are: {}",
            args.machine,
            near.map(|near| format!("did you mean `{near}`? ")).unwrap_or_default(),
            if names.is_empty() { "none".to_string() } else { names.join(", ") }
        ));
    };
    let file = match File::open(&args.program) {
        Ok(file) if !args.program.is_dir() => file,
        Ok(_) => return End::CouldNotRun(format!("{} is a folder", args.program.display())),
        Err(e) => return End::CouldNotRun(files::unreadable(&args.program, &e)),
    };
    let mut trace = match args.trace.as_ref().map(File::create).transpose() {
        Ok(trace) => trace.map(BufWriter::new),
        Err(e) => return End::CouldNotRun(format!("cannot write the trace: {e}")),
    };
    if let Some(trace) = &mut trace {
        let _ = writeln!(trace, "line,kind,x_mm,y_mm,z_mm,feed_mm_per_min,seconds");
    }
    let (mut holes, mut moves) = (Holes::default(), Vec::new());
    let setting = Setting { machine, work: args.work };
    let progress = Progress::share(shared, file.metadata().map_or(0, |data| data.len()));
    let mut bytes = Counted { file, read: 0, progress: &progress };
    let watch = |step: &Move| {
        if shared.json {
            holes.watch(step);
        }
        if let Some(trace) = &mut trace {
            let _ = write_row(trace, step);
        }
        if args.preview.is_some() && moves.len() <= SHOWN {
            moves.push(step.clone());
        }
    };
    let rehearsed = match machine.speech.writes {
        Language::Gcode => sim::rehearse(BufReader::with_capacity(1 << 16, bytes), &setting, watch),
        Language::Hpgl => {
            io::read_to_string(&mut bytes).map(|text| sim::rehearse_hpgl(&text, &setting, watch))
        }
    };
    drop(progress);
    let rehearsal = match rehearsed {
        Ok(rehearsal) => rehearsal,
        Err(e) => return End::CouldNotRun(files::unreadable(&args.program, &e)),
    };
    if let Some(Err(e)) = trace.map(|mut trace| trace.flush()) {
        return End::CouldNotRun(format!("cannot write the trace: {e}"));
    }
    if let Some(page) = &args.preview
        && let Err(why) = preview(args, page, machine, &moves, &rehearsal)
    {
        return End::CouldNotRun(why);
    }
    report(args, shared, &rehearsal, &holes.found())
}

fn preview(
    args: &DryRunArgs,
    page: &Path,
    machine: &Machine,
    trace: &[Move],
    rehearsal: &Rehearsal,
) -> Result<(), String> {
    if trace.len() > SHOWN {
        return Err(format!(
            "{} makes more than {SHOWN} moves, too many for one page: rehearse it without --preview",
            args.program.display()
        ));
    }
    let text = fs::read(&args.program).map_err(|e| files::unreadable(&args.program, &e))?;
    let file = args.program.file_name().unwrap_or_default().to_string_lossy();
    let program = show::Foreign {
        file: &file,
        text: &String::from_utf8_lossy(&text),
        machine,
        work: args.work,
        trace,
        rehearsal,
    };
    fs::write(page, show::preview(&program)).map_err(|e| format!("cannot write the preview: {e}"))
}

/// A file that says how far it has been read.
struct Counted<'a> {
    file: File,
    read: u64,
    progress: &'a Progress,
}

impl Read for Counted<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let n = self.file.read(into)?;
        self.read += n as u64;
        self.progress.at(self.read);
        Ok(n)
    }
}

fn report(args: &DryRunArgs, shared: &Shared, rehearsal: &Rehearsal, holes: &[[f64; 3]]) -> End {
    let name = args.program.display();
    for fault in &rehearsal.faults {
        complain(&format!("{name}:{}: {}: {}\n", fault.line, fault.rule.name(), fault.message));
    }
    for warning in &rehearsal.warnings {
        shared.say(&format!("{name}:{}: note: {}\n", warning.line, warning.message));
    }
    shared.say(&sim::explain(rehearsal));
    shared.facts(|| facts(rehearsal, holes) + "\n");
    if rehearsal.faults.is_empty() { End::Done } else { End::Refused(String::new()) }
}

/// One row a move; its end in the program's own coordinates.
fn write_row(out: &mut impl Write, step: &Move) -> io::Result<()> {
    let kind = match step.kind {
        MoveKind::Rapid => "rapid",
        MoveKind::Feed => "feed",
        MoveKind::ArcCw => "arc-cw",
        MoveKind::ArcCcw => "arc-ccw",
        MoveKind::Dwell => "dwell",
    };
    let [x, y, z] = step.said;
    writeln!(out, "{},{kind},{x:.6},{y:.6},{z:.6},{:.3},{:.6}", step.line, step.feed, step.seconds)
}

fn facts(rehearsal: &Rehearsal, holes: &[[f64; 3]]) -> String {
    let fault = |fault: &Fault| {
        let kind = match fault.rule.kind() {
            Kind::Language => "language",
            Kind::Danger => "danger",
        };
        json!({ "rule": fault.rule.name(), "kind": kind, "line": fault.line, "message": fault.message })
    };
    let warning =
        |w: &sim::Warning| json!({ "rule": w.doubt.name(), "line": w.line, "message": w.message });
    let time = &rehearsal.time;
    let facts = json!({
        "faults": rehearsal.faults.iter().map(fault).collect::<Vec<_>>(),
        "warnings": rehearsal.warnings.iter().map(warning).collect::<Vec<_>>(),
        "unlisted_faults": rehearsal.unlisted,
        "seconds": rehearsal.time.total(),
        "time": {
            "rapid": time.rapid, "feed": time.feed, "plunge": time.plunge, "dwell": time.dwell,
            "spin_up": time.spin_up, "pen_settle": time.pen_settle, "tool_change": time.tool_change,
        },
        "holes_mm": holes,
        "strokes": rehearsal.strokes,
        "bounds_mm": { "min": rehearsal.bounds.min, "max": rehearsal.bounds.max },
    });
    serde_json::to_string_pretty(&facts).expect("numbers and texts are JSON")
}
