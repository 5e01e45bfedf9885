//! What the order costs, where a price list was given: every line its amount times its price, rounded to the
//! smallest coin, and the sum of the lines as they stand there.

use super::{Materials, Shown, materials};
use crate::{
    job::prices::{Per, Prices},
    units::YARD,
    words::{count, decimal, duration},
};

/// A quote for all panels of the order.
pub struct Quote<'a> {
    prices: &'a Prices,
    pub panels: u32,
    pub lines: Vec<Line>,
    /// What the list has no price for.
    pub not_priced: Vec<&'static str>,
    /// Of all lines, in coins.
    sum: i64,
}

/// One line of it.
pub struct Line {
    pub what: &'static str,
    /// So much, in these units.
    pub amount: f64,
    pub unit: &'static str,
    /// For people: the amount, and where it comes from.
    pub says: String,
    pub price: f64,
    coins: i64,
}

impl Shown<'_> {
    /// The quote, where a price list was given.
    pub(super) fn quote(&self) -> Option<Quote<'_>> {
        let prices = self.job.prices.as_ref()?;
        let mut quote = Quote {
            prices,
            panels: self.job.quantity,
            lines: Vec::new(),
            not_priced: Vec::new(),
            sum: 0,
        };
        quote.materials(&materials(self.job, self.layout));
        let seconds = self.programs.iter().map(|p| p.verified.rehearsal().time.total()).sum();
        quote.work(self.programs.len(), seconds, self.layout.buttons.len());
        quote.sum = quote.lines.iter().map(|line| line.coins).sum();
        Some(quote)
    }
}

impl Quote<'_> {
    fn materials(&mut self, m: &Materials) {
        let (per, square, mm) = match self.prices.per {
            Per::Metre => ("m", "square m", 1000.0),
            Per::Yard => ("yd", "square yd", YARD),
        };
        let panels = f64::from(self.panels);
        let long = |metres: f64| metres * 1000.0 / mm;
        let area = |[w, h]: [f64; 2]| panels * w * h / (mm * mm);
        let flat = |[w, h, _]: [f64; 3]| area([w, h]);
        let prices = self.prices;
        let buttons = m.buttons + m.spare_buttons;
        self.line("Cloth", prices.materials.cloth, long(m.cloth_m), per);
        self.line("Buttons", prices.materials.button, f64::from(buttons), "with spares");
        self.line("Twine", prices.materials.twine, long(m.twine_m), per);
        self.line("Board", prices.materials.board, flat(m.board_mm), square);
        self.line("Foam", prices.materials.foam, flat(m.foam_mm), square);
        if let Some(wadding) = m.wadding_mm {
            self.line("Wadding", prices.materials.wadding, flat(wadding), square);
        }
        self.line("Back lining", prices.materials.lining, area(m.lining_mm), square);
        self.line("Tack strip", prices.materials.tack_strip, long(m.tack_strip_m), per);
        self.line("Staples", prices.materials.staples, f64::from(m.staples) / 1000.0, "thousand");
        // Not every edge has piping: who gives its price wants it.
        if prices.materials.piping.is_some() {
            self.line("Piping", prices.materials.piping, long(m.tack_strip_m), per);
        }
    }

    /// `seconds` of the programs of one panel, by their rehearsals.
    fn work(&mut self, programs: usize, seconds: f64, buttons: usize) {
        let work = &self.prices.work;
        let panels = f64::from(self.panels);
        self.line("Machines", work.machine_hour, panels * seconds / 3600.0, "h");
        let minutes = &work.minutes;
        let bench = [
            ("Programs started", minutes.program, programs as f64),
            ("Buttoning", minutes.button, buttons as f64),
            ("Bench work besides", minutes.panel, 1.0),
        ];
        if work.hour.is_none() {
            self.not_priced.push("work at the bench");
        }
        for (what, each, times) in bench {
            if each > 0.0 {
                self.line(what, work.hour, panels * times * each / 60.0, "h");
            }
        }
    }

    /// Adds a line; what comes to nothing has none.
    fn line(&mut self, what: &'static str, price: Option<f64>, amount: f64, unit: &'static str) {
        match price {
            _ if amount <= 0.0 => {}
            None => self.not_priced.push(what),
            Some(price) => {
                let says = match unit {
                    "h" => duration(amount * 3600.0),
                    _ => format!("{} {unit}", decimal(amount, 2)),
                };
                let coins = nearest(amount * price / self.prices.coin);
                self.lines.push(Line { what, amount, unit, says, price, coins });
            }
        }
    }

    /// What so many metres of cloth come to.
    pub fn cloth(&self, metres: f64) -> f64 {
        let long = match self.prices.per {
            Per::Metre => metres,
            Per::Yard => metres * 1000.0 / YARD,
        };
        let price = self.prices.materials.cloth.unwrap_or(0.0);
        nearest(long * price / self.prices.coin) as f64 * self.prices.coin
    }

    /// What a line comes to.
    pub fn comes_to(&self, line: &Line) -> f64 {
        line.coins as f64 * self.prices.coin
    }

    /// What all lines come to.
    pub fn sum(&self) -> f64 {
        self.sum as f64 * self.prices.coin
    }

    /// The sum, rounded once more where the list says so.
    pub fn total(&self) -> f64 {
        match self.prices.round_to {
            Some(step) => nearest(self.sum() / step) as f64 * step,
            None => self.sum(),
        }
    }

    pub fn currency(&self) -> &str {
        &self.prices.currency
    }

    /// Decimals of the smallest coin.
    fn places(&self) -> usize {
        let mut tens = std::iter::successors(Some(self.prices.coin), |coin| Some(coin * 10.0));
        (0..6)
            .find(|_| tens.next().is_some_and(|coin| (coin - coin.round()).abs() < 1e-6))
            .unwrap_or(6)
    }

    /// A sum of money, with as many decimals as the smallest coin has.
    pub fn money(&self, sum: f64) -> String {
        format!("{sum:.*}", self.places())
    }

    /// A line's price, with as many decimals at the least.
    pub fn price(&self, line: &Line) -> String {
        let short = self.money(line.price);
        match short.parse() == Ok(line.price) {
            true => short,
            false => decimal(line.price, 6),
        }
    }

    /// What was rounded, and how the sum is shared out.
    pub fn notes(&self) -> Vec<String> {
        let mut notes = vec![format!(
            "For {}. Every line is rounded to {}, and the sum adds the lines as they stand here.",
            count(self.panels as usize, "panel", "panels"),
            decimal(self.prices.coin, 6)
        )];
        if let Some(step) = self.prices.round_to {
            let more = self.total() - self.sum();
            notes.push(format!(
                "Rounded to {} the sum is {}, {} {}.",
                decimal(step, 6),
                self.money(self.total()),
                self.money(more.abs()),
                if more < 0.0 { "less" } else { "more" }
            ));
        }
        if self.panels > 1 {
            let each = self.total() / f64::from(self.panels);
            notes.push(format!("That is about {} a panel.", self.money(each)));
        }
        if !self.not_priced.is_empty() {
            let names: Vec<String> = self.not_priced.iter().map(|n| n.to_lowercase()).collect();
            notes.push(format!("Not priced, so not in it: {}.", names.join(", ")));
        }
        notes
    }
}

/// The nearest whole number; halves go up. What binary arithmetic loses is given back first.
fn nearest(n: f64) -> i64 {
    (n + 0.5 + 1e-9).floor() as i64
}
