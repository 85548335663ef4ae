//! Tokens to one value, or one value ± another.

use super::{COVER_95, Measured, Quantity};
use crate::MeasureError;
use crate::number::Exact;
use crate::scan::{Kind, Token, scan};
use crate::unit::{self, Unit};

/// Largest length read: 10 km, in nanometres.
const MAX_NM: i128 = 10_000_000_000_000;
const FORMS: &str = "forms are `3/16 in`, `5 mm ± 1 mm`, `1/360`, `1 in 120`, `0.4 %`, `2 deg`";

/// One side of a `±`, before its kind is settled.
#[derive(Debug, Clone, Copy)]
enum Side {
    /// A number without unit; `over` is n of a plain `1/n`.
    Bare {
        value: Exact,
        over: Option<i128>,
        end: usize,
    },
    /// Nanometres, and the last unit used.
    Length {
        nm: i128,
        unit: i128,
    },
    Percent(f64),
    Ratio(f64),
    Angle {
        rad: f64,
        degrees: bool,
    },
    Rate(f64),
}

pub(super) fn read(input: &str, wanted: Option<Quantity>) -> Result<Measured, MeasureError> {
    let tokens = scan(input)?;
    let mut reader = Reader {
        input,
        tokens: &tokens,
        at: 0,
    };
    let first = reader.side()?;
    let error = if reader.take(&Kind::PlusMinus) {
        Some(reader.side()?)
    } else {
        None
    };
    if let Some(token) = reader.tokens.get(reader.at) {
        return Err(fail(
            token.start,
            format!("`{}` follows the measurement", &input[token.start..token.end]),
            FORMS,
        ));
    }
    let (value, quantity) = settle(first, error, wanted, input)?;
    let sd = error
        .map(|e| spread(e, first, value, quantity))
        .transpose()?
        .map(|e| e / COVER_95);
    check_range(value, quantity)?;
    Ok(Measured {
        value,
        sd,
        quantity,
        text: input.trim().to_owned(),
    })
}

fn fail(offset: usize, why: impl Into<String>, accepted: &'static str) -> MeasureError {
    MeasureError::Text {
        offset,
        why: why.into(),
        accepted,
    }
}

/// Value and kind of the first side, which may borrow the unit of the error.
fn settle(
    first: Side,
    error: Option<Side>,
    wanted: Option<Quantity>,
    input: &str,
) -> Result<(f64, Quantity), MeasureError> {
    Ok(match first {
        Side::Length { nm, .. } => (nm as f64 / 1e6, Quantity::Length),
        Side::Percent(p) => (p / 100.0, Quantity::Ratio),
        Side::Ratio(r) => (r, Quantity::Ratio),
        Side::Angle { rad, .. } => (rad, Quantity::Angle),
        Side::Rate(r) => (r, Quantity::Rate),
        Side::Bare { value, over, end } => match error {
            Some(Side::Length { unit, .. }) => (value.times_rounded(unit) as f64 / 1e6, Quantity::Length),
            Some(Side::Angle { degrees: true, .. }) => (value.as_f64().to_radians(), Quantity::Angle),
            Some(Side::Angle { .. }) => (value.as_f64(), Quantity::Angle),
            Some(Side::Percent(_)) if over.is_none() => (value.as_f64() / 100.0, Quantity::Ratio),
            _ if wanted == Some(Quantity::Number) => (value.as_f64(), Quantity::Number),
            _ if over.is_some() => (value.as_f64(), Quantity::Ratio),
            _ => {
                let found = input.get(..end).unwrap_or(input).trim().to_owned();
                return Err(MeasureError::NoUnit { offset: end, found });
            }
        },
    })
}

/// The stated error in the unit of the value, as a half-width.
fn spread(error: Side, first: Side, value: f64, quantity: Quantity) -> Result<f64, MeasureError> {
    let half = match (error, quantity) {
        (Side::Length { nm, .. }, Quantity::Length) => nm as f64 / 1e6,
        (Side::Ratio(r), Quantity::Ratio) => r,
        (Side::Percent(p), Quantity::Ratio) => p / 100.0,
        (Side::Percent(p), _) => p / 100.0 * value.abs(),
        (Side::Angle { rad, .. }, Quantity::Angle) => rad,
        (Side::Rate(r), Quantity::Rate) => r,
        (Side::Bare { value: e, .. }, _) => match first {
            Side::Length { unit, .. } => e.times_rounded(unit) as f64 / 1e6,
            Side::Percent(_) => e.as_f64() / 100.0,
            Side::Angle { degrees: true, .. } => e.as_f64().to_radians(),
            _ => e.as_f64(),
        },
        _ => {
            return Err(fail(
                0,
                "the value and its error are of different kinds",
                "write both in the same kind of unit, as `5 mm ± 1 mm`",
            ));
        }
    };
    if half < 0.0 {
        return Err(fail(0, "a stated error can't be negative", "write `5 mm ± 1 mm`"));
    }
    check_range(half, quantity)?;
    Ok(half)
}

fn check_range(value: f64, quantity: Quantity) -> Result<(), MeasureError> {
    let (limit, what, range) = match quantity {
        Quantity::Length => (1e7, "the length", "up to 10 km"),
        Quantity::Ratio => (1e3, "the ratio", "up to 1000"),
        Quantity::Angle => (core::f64::consts::TAU, "the angle", "up to 360 degrees"),
        Quantity::Rate => (1e6, "the rate", "up to 1 km per year"),
        Quantity::Number => (1e12, "the number", "up to 1e12"),
    };
    if !value.is_finite() {
        Err(MeasureError::NotFinite { what })
    } else if value.abs() > limit {
        Err(MeasureError::OutOfRange { what, range })
    } else {
        Ok(())
    }
}

struct Reader<'a> {
    input: &'a str,
    tokens: &'a [Token],
    at: usize,
}

impl Reader<'_> {
    fn kind(&self, ahead: usize) -> Option<&Kind> {
        self.tokens.get(self.at + ahead).map(|t| &t.kind)
    }

    fn take(&mut self, kind: &Kind) -> bool {
        let found = self.kind(0) == Some(kind);
        self.at += usize::from(found);
        found
    }

    fn take_word(&mut self, words: &[&str]) -> bool {
        let found = matches!(self.kind(0), Some(Kind::Word(w)) if words.contains(&w.as_str()));
        self.at += usize::from(found);
        found
    }

    fn offset(&self) -> usize {
        self.tokens.get(self.at).map_or(self.input.len(), |t| t.start)
    }

    /// A number with its sign.
    fn number(&mut self) -> Result<(Exact, Option<i128>), MeasureError> {
        let minus = self.take(&Kind::Minus);
        if !minus {
            self.take(&Kind::Plus);
        }
        match self.kind(0) {
            Some(&Kind::Number { value, over }) => {
                self.at += 1;
                Ok(if minus { (value.negated(), over) } else { (value, over) })
            }
            _ => Err(fail(self.offset(), "a number is missing", FORMS)),
        }
    }

    /// A length unit at `ahead`, without taking it.
    fn length_unit(&self, ahead: usize) -> Option<i128> {
        match self.kind(ahead)? {
            Kind::Prime => Some(unit::FOOT),
            Kind::DoublePrime => Some(unit::INCH),
            Kind::Word(w) => match unit::by_name(w) {
                Some(Unit::Length(nm)) => Some(nm),
                _ => None,
            },
            _ => None,
        }
    }

    fn side(&mut self) -> Result<Side, MeasureError> {
        if matches!(self.kind(0), Some(Kind::Word(w)) if w == "l") && self.kind(1) == Some(&Kind::Slash) {
            self.at += 2;
            return self.over_number(Exact { num: 1, den: 1 });
        }
        let (value, over) = self.number()?;
        let end = self.tokens[self.at - 1].end;
        let one_in = matches!(self.kind(0), Some(Kind::Word(w)) if w == "in")
            && matches!(self.kind(1), Some(Kind::Number { .. }));
        if one_in {
            if self.length_unit(2).is_some() {
                let why = "this can be read as a ratio or as inches";
                return Err(fail(
                    self.offset(),
                    why,
                    "write `1/120`, or both units as in `1/2 in in 10 ft`",
                ));
            }
            self.at += 1;
            return self.over_number(value);
        }
        if let Some(unit) = self.length_unit(0) {
            self.at += 1;
            return self.after_length(value, unit);
        }
        match self.kind(0) {
            Some(Kind::Colon | Kind::Slash) => {
                self.at += 1;
                self.over_number(value)
            }
            Some(Kind::Percent) => {
                self.at += 1;
                Ok(Side::Percent(value.as_f64()))
            }
            Some(Kind::DegreeSign) => {
                self.at += 1;
                self.after_degrees(value)
            }
            Some(Kind::Word(word)) => match unit::by_name(word) {
                Some(Unit::Degree) => {
                    self.at += 1;
                    self.after_degrees(value)
                }
                Some(Unit::Radian) => {
                    self.at += 1;
                    Ok(Side::Angle {
                        rad: value.as_f64(),
                        degrees: false,
                    })
                }
                Some(Unit::Percent) => {
                    self.at += 1;
                    Ok(Side::Percent(value.as_f64()))
                }
                Some(Unit::Year | Unit::Length(_)) | None => Err(self.unknown_unit()),
            },
            _ => Ok(Side::Bare { value, over, end }),
        }
    }

    fn unknown_unit(&self) -> MeasureError {
        let offset = self.offset();
        let (found, nearest) = match self.tokens.get(self.at) {
            Some(Token {
                kind: Kind::Word(w),
                start,
                end,
            }) => (self.input[*start..*end].to_owned(), unit::nearest(w)),
            _ => (String::new(), None),
        };
        MeasureError::UnknownUnit { offset, found, nearest }
    }

    /// The `120` of `1 in 120`, `1:120` or `L/120`.
    fn over_number(&mut self, value: Exact) -> Result<Side, MeasureError> {
        let offset = self.offset();
        let (run, _) = self.number()?;
        if run.num <= 0 {
            return Err(fail(offset, "a ratio over zero or less", "write for example `1/360`"));
        }
        Ok(Side::Ratio(value.as_f64() / run.as_f64()))
    }

    /// Inches after feet, then a run or a year when the length is over one.
    fn after_length(&mut self, value: Exact, unit: i128) -> Result<Side, MeasureError> {
        let (nm, unit) = self.feet_and_inches(value, unit)?;
        let length = Side::Length { nm, unit };
        let over = self.take(&Kind::Slash) || self.take_word(&["per", "in", "over", "a"]);
        if !over {
            return Ok(length);
        }
        if matches!(self.kind(0), Some(Kind::Word(w)) if unit::by_name(w) == Some(Unit::Year)) {
            self.at += 1;
            return Ok(Side::Rate(nm as f64 / 1e6));
        }
        let offset = self.offset();
        let run = if let Some(unit) = self.length_unit(0) {
            self.at += 1;
            unit
        } else {
            let (value, _) = self.number()?;
            let Some(unit) = self.length_unit(0) else {
                return Err(match self.kind(0) {
                    Some(Kind::Word(_)) => self.unknown_unit(),
                    _ => fail(
                        self.offset(),
                        "the run has no unit",
                        "write for example `1/2 in in 10 ft`",
                    ),
                });
            };
            self.at += 1;
            self.feet_and_inches(value, unit)?.0
        };
        if run <= 0 {
            return Err(fail(
                offset,
                "a fall over a run of zero or less",
                "write for example `1/2 in in 10 ft`",
            ));
        }
        Ok(Side::Ratio(nm as f64 / run as f64))
    }

    /// Nanometres and the last unit used.
    fn feet_and_inches(&mut self, value: Exact, unit: i128) -> Result<(i128, i128), MeasureError> {
        let mut nm = value.times_rounded(unit);
        let mut last = unit;
        let dash = usize::from(self.kind(0) == Some(&Kind::Minus));
        if unit == unit::FOOT && matches!(self.kind(dash), Some(Kind::Number { .. })) {
            if self.length_unit(dash + 1) != Some(unit::INCH) {
                return Err(fail(
                    self.offset(),
                    "a number follows the feet without an inch mark",
                    "write for example `1' 4 1/2\"`",
                ));
            }
            self.at += dash;
            let (inches, _) = self.number()?;
            self.at += 1;
            let part = inches.times_rounded(unit::INCH);
            nm += if value.num < 0 { -part } else { part };
            last = unit::INCH;
        }
        if nm.abs() > MAX_NM {
            return Err(MeasureError::OutOfRange {
                what: "the length",
                range: "up to 10 km",
            });
        }
        Ok((nm, last))
    }

    /// Minutes and seconds after degrees.
    fn after_degrees(&mut self, value: Exact) -> Result<Side, MeasureError> {
        let mut degrees = value.as_f64();
        let sign = if value.num < 0 { -1.0 } else { 1.0 };
        for (mark, part) in [(Kind::Prime, 60.0), (Kind::DoublePrime, 3600.0)] {
            if matches!(self.kind(0), Some(Kind::Number { .. })) && self.kind(1) == Some(&mark) {
                degrees += sign * self.number()?.0.as_f64() / part;
                self.at += 1;
            }
        }
        Ok(Side::Angle {
            rad: degrees.to_radians(),
            degrees: true,
        })
    }
}
