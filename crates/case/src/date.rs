//! A day of the calendar.

use std::fmt;

/// A day of the Gregorian calendar, written as ISO 8601: `2026-03-14`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date {
    year: u16,
    month: u8,
    day: u8,
}

/// A text that is no day of the calendar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum DateError {
    /// Not of the form year, month, day.
    #[error("it is not of the form year-month-day")]
    Form,
    /// The year is not between 1700 and 2200.
    #[error("the year is not between 1700 and 2200")]
    Year,
    /// There is no such month or day.
    #[error("there is no such day in the calendar")]
    Day,
}

impl Date {
    /// The day.
    ///
    /// # Errors
    /// A year not between 1700 and 2200; a month or a day that does not exist.
    pub fn new(year: u16, month: u8, day: u8) -> Result<Self, DateError> {
        if !(1700..=2200).contains(&year) {
            return Err(DateError::Year);
        }
        let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
        let last = match month {
            1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
            4 | 6 | 9 | 11 => 30,
            2 if leap => 29,
            2 => 28,
            _ => return Err(DateError::Day),
        };
        if (1..=last).contains(&day) {
            Ok(Self { year, month, day })
        } else {
            Err(DateError::Day)
        }
    }

    /// Reads `2026-03-14`.
    ///
    /// # Errors
    /// Another form, or a day that does not exist.
    ///
    /// ```
    /// use wythe_case::{Date, DateError};
    /// assert_eq!(Date::parse("2026-03-14"), Date::new(2026, 3, 14));
    /// assert_eq!(Date::parse("2026-02-29"), Err(DateError::Day));
    /// assert_eq!(Date::parse("14/3/2026"), Err(DateError::Form));
    /// ```
    pub fn parse(text: &str) -> Result<Self, DateError> {
        let parts: Vec<&str> = text.split('-').collect();
        let &[year, month, day] = parts.as_slice() else {
            return Err(DateError::Form);
        };
        let right_form = [(year, 4), (month, 2), (day, 2)]
            .iter()
            .all(|(part, length)| part.len() == *length && part.bytes().all(|byte| byte.is_ascii_digit()));
        match (year.parse(), month.parse(), day.parse()) {
            (Ok(year), Ok(month), Ok(day)) if right_form => Self::new(year, month, day),
            _ => Err(DateError::Form),
        }
    }

    /// Year, 1700–2200.
    pub fn year(self) -> u16 {
        self.year
    }

    /// Month, 1–12.
    pub fn month(self) -> u8 {
        self.month
    }

    /// Day of the month, 1–31.
    pub fn day(self) -> u8 {
        self.day
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}
