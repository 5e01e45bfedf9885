//! `bradawl machines NEW`: what a person can find out at the machine, written as a commented file.

use super::{
    End, Shared,
    ask::{Ask, Silence},
    complain, files,
};
use crate::{diag::Source, machine, words::decimal};
use std::{fmt::Write, fs, io::BufRead, path::PathBuf};

pub fn run(name: &str, shared: &Shared) -> End {
    let stem = name.strip_suffix(".toml").unwrap_or(name);
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if stem.is_empty() || !stem.chars().all(plain) {
        return End::CouldNotRun(format!(
            "`{name}` is no name for a machine file: write small letters, digits and -, such as my-router"
        ));
    }
    let folder = shared.machines.clone().unwrap_or_else(|| PathBuf::from("machines"));
    let path = folder.join(format!("{stem}.toml"));
    if path.exists() {
        return End::CouldNotRun(format!(
            "{} is there already and is left as it is",
            path.display()
        ));
    }
    complain("Go to the machine with a tape. An empty answer takes what stands in [ ].\n");
    let Ok(text) = questions(&mut Ask::at_terminal()) else {
        return End::CouldNotRun(
            "the questions were not answered to the end, so nothing was written".into(),
        );
    };
    let source = Source { name: path.display().to_string(), text };
    if let Err(wrong) = machine::read(stem, &source) {
        return End::Refused(files::refusal(&source, &wrong));
    }
    if let Err(e) = fs::create_dir_all(&folder) {
        return End::CouldNotRun(files::unreadable(&folder, &e));
    }
    if let Err(why) = files::write_one(&path, source.text.as_bytes()) {
        return End::CouldNotRun(why);
    }
    shared.say(&format!(
        "Written: {}\nTry it on a scrap before you trust it: bradawl machines --try {stem}\n",
        path.display()
    ));
    End::Done
}

fn questions<R: BufRead>(ask: &mut Ask<R>) -> Result<String, Silence> {
    let mut text = String::from(
        "# Written from what was found out at the machine. Every value can be changed by hand;\n\
         # what more can be said is in machines/README.md.\n\n",
    );
    let title = ask.text("What do you call it?", "My machine")?;
    let router = ask.choice("Is it a router or a plotter?", &["router", "plotter"])? == "router";
    let kind = if router { "router" } else { "plotter" };
    let _ = writeln!(text, "title = \"{}\"", title.replace(['"', '\\'], "'"));
    let _ = writeln!(text, "units = \"mm\"\nkind  = \"{kind}\"\n\n[bed]");
    let x =
        ask.length("How far does it reach from left to right? Jog to both ends and measure", "")?;
    let y = ask.length("How far does it reach from near to far?", "")?;
    let _ = writeln!(text, "x = {}   # jogged from end to end and measured\ny = {}", n(x), n(y));
    if router {
        bed_of_router(ask, &mut text)?;
    }
    let hpgl = !router
        && ask.choice("Which language does it read? Look in its manual", &["gcode", "hpgl"])?
            == "hpgl";
    motion(ask, &mut text, router)?;
    if router {
        spindle(ask, &mut text)?
    } else {
        pen(ask, &mut text, hpgl)?
    }
    speech(ask, &mut text, router, hpgl)?;
    if router {
        tool(ask, &mut text)?;
    }
    Ok(text)
}

fn bed_of_router<R: BufRead>(ask: &mut Ask<R>, text: &mut String) -> Result<(), Silence> {
    let z = ask.length("Raise it fully: how far is the tip of a bit above the spoilboard?", "")?;
    let thick = ask.length("How thick is the spoilboard?", "18")?;
    let _ = writeln!(text, "z = {}            # highest tool tip above the spoilboard", n(z));
    let _ = writeln!(text, "spoilboard = {}   # its thickness: bits go no deeper", n(thick));
    complain(
        "How far may a board lie past each side of the bed, with nothing of the machine in its way?\n",
    );
    let mut sides = Vec::new();
    for side in ["left", "right", "near", "far"] {
        sides.push(format!(
            "{side} = {}",
            n(ask.length_or_none(&format!("  past the {side} side"))?)
        ));
    }
    let _ =
        writeln!(text, "over = {{ {} }}   # how far work may lie past the bed", sides.join(", "));
    Ok(())
}

fn motion<R: BufRead>(ask: &mut Ask<R>, text: &mut String, router: bool) -> Result<(), Silence> {
    let speed = ask.length(
        "Its fastest travel in a minute, left to right? In its settings or its manual",
        "3000",
    )?;
    let accel = ask.length("Its acceleration, per second squared? In its settings", "200")?;
    if router {
        let z_speed = ask.length("Its fastest travel in a minute, up and down?", "1000")?;
        let z_accel = ask.length("Its acceleration up and down?", "100")?;
        let safe = ask.length("How high above the work does it travel safely?", "10")?;
        let _ = writeln!(
            text,
            "\n[motion]\nrapid = {{ x = {0}, y = {0}, z = {1} }}   # mm per minute\n\
             acceleration = {{ x = {2}, y = {2}, z = {3} }}   # mm/s²\n\
             safe_height = {4}   # above the work\npark = {{ x = 0, y = 0 }}   # where it rests, on the bed",
            n(speed),
            n(z_speed),
            n(accel),
            n(z_accel),
            n(safe)
        );
    } else {
        let _ = writeln!(
            text,
            "\n[motion]\nrapid = {{ x = {0}, y = {0} }}   # mm per minute, pen up\n\
             acceleration = {{ x = {1}, y = {1} }}   # mm/s²\npark = {{ x = 0, y = 0 }}   # where it rests",
            n(speed),
            n(accel)
        );
    }
    Ok(())
}

fn spindle<R: BufRead>(ask: &mut Ask<R>, text: &mut String) -> Result<(), Silence> {
    let slow = ask
        .number("Slowest speed of the spindle, turns a minute? On its plate or its dial", "8000")?;
    let fast = ask.number("Fastest speed?", "24000")?;
    let reverse = ask.yes("Can it turn backwards? Toothed foam cutters must", false)?;
    let wait = ask.number("Seconds until it is at speed?", "3")?;
    let _ = writeln!(
        text,
        "\n[spindle]\nrpm_min = {}\nrpm_max = {}\nreverse = {reverse}   # can it turn backwards (M4)?\n\
         spin_up = {}   # seconds until it is at speed",
        n(slow),
        n(fast),
        n(wait.min(120.0))
    );
    Ok(())
}

fn pen<R: BufRead>(ask: &mut Ask<R>, text: &mut String, hpgl: bool) -> Result<(), Silence> {
    let _ = writeln!(text, "\n[pen]");
    if !hpgl {
        let words = ask.choice(
            "Does the pen move up and down in Z, or by words such as M3 and M5?",
            &["Z", "words"],
        )?;
        let (up, down) = match words {
            "words" => (
                ask.text("Which words lift it?", "M5")?,
                ask.text("Which words set it down?", "M3 S90")?,
            ),
            _ => (
                format!("{} mm", n(ask.length("How high is it lifted above the cloth?", "5")?)),
                "0 mm".to_string(),
            ),
        };
        let clean = |words: String| words.replace(['"', '\\'], "");
        let _ = writeln!(text, "up = \"{}\"\ndown = \"{}\"", clean(up), clean(down));
    }
    let width = ask.length("How wide is its line?", "0.7")?;
    let speed =
        ask.length("How far may it draw in a second on cloth without dragging it?", "50")?;
    let _ = writeln!(
        text,
        "settle = 0.2   # seconds, after down and after up\nwidth = {}\nspeed = \"{} mm/s\"",
        n(width),
        n(speed)
    );
    Ok(())
}

fn speech<R: BufRead>(
    ask: &mut Ask<R>,
    text: &mut String,
    router: bool,
    hpgl: bool,
) -> Result<(), Silence> {
    let _ = writeln!(text, "\n[speech]   # what the controller understands");
    if hpgl {
        let _ = writeln!(text, "writes = \"hpgl\"\ncomments = \"none\"");
        return Ok(());
    }
    complain("Open a program that the machine has run, and look how it is written.\n");
    let comments =
        ask.choice("How are its comments written?", &["parentheses", "semicolon", "none"])?;
    let inches = ask.choice("Is it in millimetres (G21) or inches (G20)?", &["mm", "in"])?;
    let arcs = ask.yes("Does it have arcs, G2 and G3?", true)?;
    let _ = writeln!(text, "comments = \"{comments}\"\nwrites_in = \"{inches}\"\narcs = {arcs}");
    if router {
        let cycles = ask.yes("Does it have drilling cycles, G81 or G83?", false)?;
        let change =
            ask.choice("How are tools changed: at a pause by hand, or by M6?", &["pause", "M6"])?;
        let _ = writeln!(text, "drill_cycle = {cycles}\ntool_change = \"{change}\"");
    }
    Ok(())
}

fn tool<R: BufRead>(ask: &mut Ask<R>, text: &mut String) -> Result<(), Silence> {
    complain("One bit for boards; add others by hand as further [[tool]] tables.\n");
    let diameter = ask.length("Its diameter?", "8")?;
    let reach = ask.length("How far does it stand out below its holder?", "40")?;
    let rpm = ask.number("Turns a minute? On its packet", "8000")?;
    let feed = ask.length("How far may it go down in a minute?", "300")?;
    let drill = ask.yes("Is it a drill bit, which cannot cut sideways?", true)?;
    let _ = writeln!(
        text,
        "\n[[tool]]\nnumber = 1\nname = \"{0} mm bit\"\nwork = [\"board\"]\ndiameter = {0}\nreach = {1}\nrpm = {2}\nfeed = {3}   # mm per minute\nsideways = {4}",
        n(diameter),
        n(reach),
        n(rpm),
        n(feed),
        !drill
    );
    Ok(())
}

fn n(value: f64) -> String {
    decimal(value, 3)
}
