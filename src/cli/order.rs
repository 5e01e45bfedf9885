//! `bradawl order FILE`: the ordering by itself, for places from anywhere.

use super::{Effort, End, Shared, files, progress::Progress};
use crate::{
    machine::Machine,
    route::{self, Cost, Ends, places},
    words::count,
};
use clap::Args;
use serde_json::json;
use std::{fs, path::PathBuf, time::Instant};

/// Steps of the bar.
const WHOLE: f64 = 1000.0;

#[derive(Args)]
pub struct OrderArgs {
    /// Lines of `x y` in mm, or a TSPLIB file with EUC_2D weights
    file: PathBuf,
    /// What going from place to place costs: distance, nint, or the name of a machine
    #[arg(long, default_value = "distance", value_name = "COST")]
    cost: String,
    /// Come back to the first place
    #[arg(long)]
    closed: bool,
    /// How hard to look for the shortest way
    #[arg(long, value_enum, default_value = "normal")]
    effort: Effort,
}

// The clock is only shown; no answer depends on it.
#[allow(clippy::disallowed_methods)]
pub fn run(args: &OrderArgs, shared: &Shared) -> End {
    let cost = match cost(&args.cost, shared) {
        Ok(cost) => cost,
        Err(end) => return end,
    };
    let text = match fs::read_to_string(&args.file) {
        Ok(text) => text,
        Err(e) => return End::CouldNotRun(files::unreadable(&args.file, &e)),
    };
    let places = match places::read(&text) {
        Ok(places) => places,
        Err(wrong) => return End::Refused(format!("error: {}: {wrong}\n", args.file.display())),
    };
    let ends = if args.closed { Ends::Closed } else { Ends::Open };
    let begun = Instant::now();
    let bar = Progress::share(shared, WHOLE as u64);
    let mut done = |share: f64| bar.at((share * WHOLE) as u64);
    let order = route::order(&places, ends, cost, args.effort.into(), &mut done);
    drop(bar);
    let order = match order {
        Ok(order) => order,
        Err(wrong) => return End::Refused(format!("error: {}: {wrong}\n", args.file.display())),
    };
    let seconds = begun.elapsed().as_secs_f64();
    let unit = if matches!(cost, Cost::Time { .. }) { "s" } else { "mm" };
    shared.say(&format!(
        "{}, {:.3} {unit}, at most {:.3} % over the least possible ({:.3} {unit}), found in {seconds:.2} s\n",
        count(places.len(), "place", "places"),
        order.cost,
        order.excess() * 100.0,
        order.bound,
    ));
    shared.facts(|| {
        let facts = json!({
            "order": order.sequence, "length": order.cost, "bound": order.bound, "unit": unit,
            "travel_mm": order.travel + 0.0, "seconds": seconds,
        });
        facts.to_string() + "\n"
    });
    End::Done
}

fn cost(word: &str, shared: &Shared) -> Result<Cost, End> {
    match word {
        "distance" => Ok(Cost::Distance),
        "nint" => Ok(Cost::Nint),
        name => {
            let found = files::machines(shared, None).map_err(End::CouldNotRun)?;
            let machines = files::usable(found, &[name]).map_err(End::Refused)?;
            let machine = machines.get(name).ok_or_else(|| {
                End::CouldNotRun(format!(
                    "the cost `{name}` is neither distance, nint, nor a machine file found here"
                ))
            })?;
            Ok(time_on(machine))
        }
    }
}

fn time_on(machine: &Machine) -> Cost {
    let [x, y, _] = machine.motion.rapid;
    let [ax, ay, _] = machine.motion.acceleration;
    Cost::Time { rapid: [x, y], acceleration: [ax, ay] }
}
