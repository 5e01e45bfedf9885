//! Numbers, parameters and expressions (IR 6556, pages 15 to 18).

use super::rules::{LanguageRule, Refusal, Refused};
use std::cell::Cell;

/// A value within this of a whole number counts as whole (page 15).
const NEARLY_WHOLE: f64 = 0.0001;

/// The whole number that `value` counts as.
pub fn whole(value: f64) -> Option<i64> {
    let near = value.round();
    ((value - near).abs() <= NEARLY_WHOLE && near.abs() < 1e15).then_some(near as i64)
}

/// The numbered parameters of a program, `#1` to `#5399`, taken to be nought until they are set.
#[derive(Debug, Clone)]
pub struct Parameters {
    values: Vec<Option<f64>>,
    /// The last one that was read before it was set.
    guessed: Cell<Option<usize>>,
    /// Settings of the line being read: they take effect when the whole line has been read.
    waiting: Vec<(usize, f64)>,
}

impl Parameters {
    /// One more than the greatest number.
    pub const END: usize = 5400;
    /// From here on they belong to the controller: homes, offsets, work systems (page 10).
    pub const CONTROLLER: usize = 5161;

    pub fn get(&self, number: usize) -> f64 {
        self.values[number].unwrap_or_else(|| {
            self.guessed.set(Some(number));
            0.0
        })
    }

    pub fn set(&mut self, number: usize, value: f64) {
        self.values[number] = Some(value);
    }

    /// A parameter that was read although nobody had set it, since this was asked last.
    #[inline]
    pub fn guessed(&self) -> Option<usize> {
        self.guessed.take()
    }

    pub(super) fn wait(&mut self, number: usize, value: f64) {
        self.waiting.push((number, value));
    }

    pub(super) fn forget_waiting(&mut self) {
        self.waiting.clear();
    }

    pub(super) fn settle(&mut self) {
        for &(number, value) in &self.waiting {
            self.values[number] = Some(value);
        }
        self.waiting.clear();
    }
}

impl Default for Parameters {
    fn default() -> Self {
        Parameters {
            values: vec![None; Parameters::END],
            guessed: Cell::new(None),
            waiting: Vec::new(),
        }
    }
}

/// A place on a line.
pub(super) struct Cursor<'t> {
    pub text: &'t [u8],
    pub at: usize,
}

impl Cursor<'_> {
    #[cold]
    pub fn refuse<T>(&self, rule: LanguageRule, at: usize, message: String) -> Result<T, Refused> {
        Err(Box::new(Refusal { rule, line: 0, column: at + 1, message }))
    }

    /// The next byte that is no space, without taking it.
    #[inline]
    pub fn peek(&mut self) -> Option<u8> {
        while let Some(&byte) = self.text.get(self.at) {
            if byte != b' ' && byte != b'\t' {
                return Some(byte);
            }
            self.at += 1;
        }
        None
    }

    fn take(&mut self, wanted: u8) -> bool {
        let found = self.peek() == Some(wanted);
        self.at += usize::from(found);
        found
    }

    /// A number, an expression, a parameter or a function: what may stand after a letter.
    #[inline]
    pub fn real(&mut self, parameters: &Parameters) -> Result<f64, Refused> {
        match self.peek() {
            Some(b'0'..=b'9' | b'-' | b'+' | b'.') => self.number(),
            Some(b'[') => self.expression(parameters),
            Some(b'#') => self.parameter(parameters),
            Some(b'a'..=b'z' | b'A'..=b'Z') => self.function(parameters),
            _ => {
                self.refuse(LanguageRule::NumberMissing, self.at, "a number is missing here".into())
            }
        }
    }

    /// Sign, digits, point, digits; at least one digit; spaces mean nothing even here.
    #[inline]
    fn number(&mut self) -> Result<f64, Refused> {
        let start = self.at;
        let minus = match self.text[self.at] {
            sign @ (b'-' | b'+') => {
                self.at += 1;
                sign == b'-'
            }
            _ => false,
        };
        let (mut mantissa, mut digits, mut decimals, mut point) = (0u64, 0usize, 0usize, false);
        while let Some(&byte) = self.text.get(self.at) {
            match byte {
                b'0'..=b'9' => {
                    // Past 19 digits this wraps, and the slow way is taken below.
                    mantissa = mantissa.wrapping_mul(10).wrapping_add(u64::from(byte - b'0'));
                    digits += 1;
                    decimals += usize::from(point);
                }
                b'.' if !point => point = true,
                b' ' | b'\t' => {}
                _ => break,
            }
            self.at += 1;
        }
        if digits == 0 {
            return self.refuse(
                LanguageRule::NumberMissing,
                start,
                "a number needs a digit".into(),
            );
        }
        // Both are exact up to here, so one division rounds once: the nearest f64.
        let size = if digits <= 19 && mantissa <= 1 << 53 && decimals < TEN.len() {
            mantissa as f64 / TEN[decimals]
        } else {
            self.long_number(start)
        };
        // Never minus nought, which would be printed.
        Ok(if minus { 0.0 - size } else { size })
    }

    #[cold]
    fn long_number(&self, start: usize) -> f64 {
        let plain = |byte: &u8| byte.is_ascii_digit() || *byte == b'.';
        let mut figures = [0; super::LONGEST_LINE];
        let mut length = 0;
        for &byte in self.text[start..self.at].iter().filter(|byte| plain(byte)) {
            figures[length] = byte;
            length += 1;
        }
        let figures = str::from_utf8(&figures[..length]).expect("digits and a point are text");
        figures.parse().expect("digits, at most one point, at least one digit")
    }

    /// `#` and the number of a parameter, which may itself be any value.
    fn parameter(&mut self, parameters: &Parameters) -> Result<f64, Refused> {
        let number = self.parameter_number(parameters)?;
        Ok(parameters.get(number))
    }

    /// Takes `#n` and gives n.
    pub fn parameter_number(&mut self, parameters: &Parameters) -> Result<usize, Refused> {
        let start = self.at;
        self.at += 1;
        let value = self.real(parameters)?;
        match whole(value) {
            Some(n @ 1..=5399) => Ok(n as usize),
            _ => self.refuse(
                LanguageRule::NoSuchParameter,
                start,
                format!("there is no parameter #{value}"),
            ),
        }
    }

    /// `[…]`
    fn expression(&mut self, parameters: &Parameters) -> Result<f64, Refused> {
        if !self.take(b'[') {
            let at = self.at;
            return self.refuse(LanguageRule::BadExpression, at, "a [ is missing here".into());
        }
        let value = self.sum(parameters)?;
        if !self.take(b']') {
            let at = self.at;
            return self.refuse(
                LanguageRule::BadExpression,
                at,
                "an operation or a ] is missing here".into(),
            );
        }
        Ok(value)
    }

    /// Weakest: `+ - OR XOR AND`, from left to right.
    fn sum(&mut self, parameters: &Parameters) -> Result<f64, Refused> {
        let truth = |yes: bool| f64::from(u8::from(yes));
        let mut left = self.product(parameters)?;
        loop {
            let start = self.at;
            left = match self.peek() {
                Some(b'+') => {
                    self.at += 1;
                    left + self.product(parameters)?
                }
                Some(b'-') => {
                    self.at += 1;
                    left - self.product(parameters)?
                }
                Some(b'o' | b'O') if self.word(b"OR") => {
                    let right = self.product(parameters)?;
                    truth(left != 0.0 || right != 0.0)
                }
                Some(b'x' | b'X') if self.word(b"XOR") => {
                    let right = self.product(parameters)?;
                    truth((left != 0.0) != (right != 0.0))
                }
                Some(b'a' | b'A') if self.word(b"AND") => {
                    let right = self.product(parameters)?;
                    truth(left != 0.0 && right != 0.0)
                }
                _ => return Ok(left),
            };
            self.must_be_finite(left, start)?;
        }
    }

    /// `* / MOD`, from left to right.
    fn product(&mut self, parameters: &Parameters) -> Result<f64, Refused> {
        let mut left = self.power(parameters)?;
        loop {
            let start = self.at;
            left = match self.peek() {
                Some(b'*') => {
                    self.at += 1;
                    left * self.power(parameters)?
                }
                Some(b'/') => {
                    self.at += 1;
                    left / self.power(parameters)?
                }
                Some(b'm' | b'M') if self.word(b"MOD") => {
                    let right = self.power(parameters)?;
                    let rest = left % right;
                    if rest < 0.0 { rest + right.abs() } else { rest }
                }
                _ => return Ok(left),
            };
            self.must_be_finite(left, start)?;
        }
    }

    /// Strongest: `**`, from left to right.
    fn power(&mut self, parameters: &Parameters) -> Result<f64, Refused> {
        let mut left = self.real(parameters)?;
        while self.peek() == Some(b'*') && self.after_space(self.at + 1) == Some(b'*') {
            let start = self.at;
            self.at += 1;
            self.take(b'*');
            left = libm::pow(left, self.real(parameters)?);
            self.must_be_finite(left, start)?;
        }
        Ok(left)
    }

    /// The functions of one value, in degrees; `ATAN[y]/[x]` has two.
    fn function(&mut self, parameters: &Parameters) -> Result<f64, Refused> {
        let start = self.at;
        let name = FUNCTIONS.iter().find(|name| self.word(name));
        let Some(&name) = name else {
            return self.refuse(
                LanguageRule::NumberMissing,
                start,
                "a number is missing here".into(),
            );
        };
        let value = self.expression(parameters)?;
        let result = match name {
            b"ABS" => value.abs(),
            b"ACOS" => libm::acos(value).to_degrees(),
            b"ASIN" => libm::asin(value).to_degrees(),
            b"ATAN" => {
                if !self.take(b'/') {
                    let at = self.at;
                    return self.refuse(
                        LanguageRule::BadExpression,
                        at,
                        "ATAN is written ATAN[y]/[x]".into(),
                    );
                }
                self.peek();
                libm::atan2(value, self.expression(parameters)?).to_degrees()
            }
            b"COS" => libm::cos(value.to_radians()),
            b"EXP" => libm::exp(value),
            b"FIX" => value.floor(),
            b"FUP" => value.ceil(),
            b"LN" => libm::log(value),
            b"ROUND" => value.round(),
            b"SIN" => libm::sin(value.to_radians()),
            b"SQRT" => value.sqrt(),
            b"TAN" => libm::tan(value.to_radians()),
            _ => unreachable!("every name in the list has its line above"),
        };
        self.must_be_finite(result, start)?;
        Ok(result)
    }

    fn must_be_finite(&self, value: f64, at: usize) -> Result<(), Refused> {
        if value.is_finite() {
            return Ok(());
        }
        self.refuse(LanguageRule::ImpossibleSum, at, "this has no value".into())
    }

    /// Takes a word in either case, spaces within it not counted, or nothing at all.
    fn word(&mut self, name: &[u8]) -> bool {
        let start = self.at;
        for &letter in name {
            if self.peek().map(|byte| byte.to_ascii_uppercase()) != Some(letter) {
                self.at = start;
                return false;
            }
            self.at += 1;
        }
        true
    }

    fn after_space(&self, at: usize) -> Option<u8> {
        Cursor { text: self.text, at }.peek()
    }
}

const FUNCTIONS: [&[u8]; 13] = [
    b"ABS", b"ACOS", b"ASIN", b"ATAN", b"COS", b"EXP", b"FIX", b"FUP", b"LN", b"ROUND", b"SIN",
    b"SQRT", b"TAN",
];

/// Powers of ten that an f64 holds exactly.
const TEN: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
];
