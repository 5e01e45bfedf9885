//! A price list: what materials cost and what work is worth. It knows no currency but by name.

use crate::{
    diag::{Diagnostic, Source},
    form::{self, Field, Form, Within},
};

/// What things cost, in the list's own currency. What is `None` is not priced, and a quote says so.
#[derive(Debug, Clone, PartialEq)]
pub struct Prices {
    /// A text to stand beside sums.
    pub currency: String,
    /// The smallest coin: every line of a quote is rounded to it.
    pub coin: f64,
    /// The whole sum is rounded to this once more, if to anything.
    pub round_to: Option<f64>,
    /// What lengths and areas are priced by.
    pub per: Per,
    pub materials: Materials,
    pub work: Work,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Per {
    Metre,
    Yard,
}

/// Lengths and areas per metre and square metre, or yard and square yard; buttons each, staples a thousand.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Materials {
    pub cloth: Option<f64>,
    pub button: Option<f64>,
    pub twine: Option<f64>,
    pub board: Option<f64>,
    pub foam: Option<f64>,
    pub wadding: Option<f64>,
    pub lining: Option<f64>,
    pub tack_strip: Option<f64>,
    pub piping: Option<f64>,
    pub staples: Option<f64>,
}

#[derive(Debug, Clone, PartialEq, Default)]
pub struct Work {
    /// An hour of a machine, by the programs' own estimates.
    pub machine_hour: Option<f64>,
    /// An hour at the bench.
    pub hour: Option<f64>,
    /// Minutes at the bench: for each program laid down and started, for each button, for each panel besides.
    pub minutes: Minutes,
}

#[derive(Debug, Clone, PartialEq, Default)]
pub struct Minutes {
    pub program: f64,
    pub button: f64,
    pub panel: f64,
}

/// Reads a price list. All that is wrong comes back at once.
pub fn read(source: &Source) -> Result<Prices, Vec<Diagnostic>> {
    form::read(source, whole_file)
}

/// Every key of a price list, and those that are only looked for.
pub fn keys() -> (Vec<Field>, Vec<String>) {
    form::describe(whole_file)
}

fn whole_file(f: &mut Form) -> Option<Prices> {
    let currency = f.text("currency").value;
    let coin = f.number_or("coin", Within::Positive, 0.01).value;
    let round_to = f.number_if("round_to", Within::Positive);
    if let Some(round) = round_to.as_ref().filter(|round| round.value < coin) {
        f.note(
            Diagnostic::at(round.span.clone(), format!("`round_to` is less than the smallest coin, {coin}"))
                .help("write a larger one, such as 5, or leave it out: then the sum is only what its lines come to"),
        );
    }
    let per = f.choice_or_first("per", &[("metre", Per::Metre), ("yard", Per::Yard)]).value;
    let materials = f.table_if("materials", materials).unwrap_or_default();
    let work = f.table_if("work", work).unwrap_or_default();
    if materials == Materials::default() && work == Work::default() {
        f.note(
            Diagnostic::at(f.span(), "this list prices nothing")
                .help("add [materials] with, say, cloth = 24.50, or [work] with hour = 40 and button_minutes = 4"),
        );
    }
    Some(Prices {
        currency,
        coin,
        round_to: round_to.map(|round| round.value),
        per,
        materials,
        work,
    })
}

fn materials(f: &mut Form) -> Option<Materials> {
    let mut price = |key| f.number_if(key, Within::NotNegative).map(|price| price.value);
    Some(Materials {
        cloth: price("cloth"),
        button: price("button"),
        twine: price("twine"),
        board: price("board"),
        foam: price("foam"),
        wadding: price("wadding"),
        lining: price("lining"),
        tack_strip: price("tack_strip"),
        piping: price("piping"),
        staples: price("staples"),
    })
}

fn work(f: &mut Form) -> Option<Work> {
    let machine_hour = f.number_if("machine_hour", Within::NotNegative).map(|price| price.value);
    let hour = f.number_if("hour", Within::NotNegative).map(|price| price.value);
    let mut minutes = |key| f.number_or(key, Within::NotNegative, 0.0);
    let all = [minutes("program_minutes"), minutes("button_minutes"), minutes("panel_minutes")];
    match (hour, all.iter().find(|minutes| minutes.value != 0.0)) {
        (None, Some(first)) => f.note(
            Diagnostic::at(first.span.clone(), "minutes are given, and not what an hour is worth")
                .help("write hour = … in [work], in the list's currency"),
        ),
        (Some(_), None) => f.note(
            Diagnostic::at(f.span(), "an hour at the bench is priced, and no minutes are given")
                .help("write button_minutes = 4, what you take to set a button; or panel_minutes, program_minutes"),
        ),
        _ => {}
    }
    let [program, button, panel] = all.map(|minutes| minutes.value);
    Some(Work { machine_hour, hour, minutes: Minutes { program, button, panel } })
}
