//! A plot of readings over time, as SVG text.

use super::{DatedReading, Trend, day_number};
use crate::COVER_95;
use crate::svg::{Canvas, ticks};

/// Plot readings with 95 % bars and the likeliest fit. Black on white, so it
/// prints; the fit is dashed where the verdict names none. `title` is shown
/// as given; widths are in mm at the left and in inches at the right.
pub fn trend_svg(readings: &[DatedReading], trend: &Trend, title: &str) -> String {
    let finite: Vec<&DatedReading> = readings
        .iter()
        .filter(|r| r.day.is_finite() && r.value_mm.is_finite())
        .collect();
    let fold = |of: &dyn Fn(&DatedReading) -> f64, pick: fn(f64, f64) -> f64, start: f64| {
        finite.iter().map(|r| of(r)).fold(start, pick)
    };
    let first = fold(&|r| r.day, f64::min, f64::INFINITY);
    let last = fold(&|r| r.day, f64::max, f64::NEG_INFINITY);
    let low = fold(&|r| r.value_mm - COVER_95 * r.sd_mm, f64::min, f64::INFINITY);
    let high = fold(&|r| r.value_mm + COVER_95 * r.sd_mm, f64::max, f64::NEG_INFINITY);
    let mut canvas = Canvas::new(660.0, 404.0, title);
    if !(first < last && low < high) {
        canvas.text(320.0, 200.0, "middle", "too little to plot");
        return canvas.done();
    }
    let pad = 0.05 * (high - low);
    let (low, high) = (low - pad, high + pad);
    let x = |day: f64| 82.0 + 516.0 * (day - first) / (last - first);
    let y = |mm: f64| 340.0 - 290.0 * (mm - low) / (high - low);
    canvas.line(70.0, 340.0, 610.0, 340.0, 1.0, None);
    canvas.line(70.0, 340.0, 70.0, 50.0, 1.0, None);
    for mm in ticks(low, high, 6) {
        canvas.line(66.0, y(mm), 70.0, y(mm), 1.0, None);
        canvas.text(62.0, y(mm) + 4.0, "end", &format!("{mm:.2}"));
    }
    canvas.line(610.0, 340.0, 610.0, 50.0, 1.0, None);
    for inches in ticks(low / 25.4, high / 25.4, 6) {
        let at = y(25.4 * inches);
        canvas.line(610.0, at, 614.0, at, 1.0, None);
        canvas.text(618.0, at + 4.0, "start", &format!("{inches:.2}"));
    }
    for (day, name) in months(first, last) {
        canvas.line(x(day), 340.0, x(day), 344.0, 1.0, None);
        canvas.text(x(day), 358.0, "middle", &name);
    }
    canvas.text(340.0, 376.0, "middle", "start of each month named");
    canvas.text(70.0, 42.0, "middle", "mm");
    canvas.text(610.0, 42.0, "middle", "in");
    let named = matches!(trend.verdict, super::TrendVerdict::Is(_));
    if let Some(best) = trend.fits.first() {
        let points: Vec<(f64, f64)> = (0..=120)
            .map(|i| first + (last - first) * f64::from(i) / 120.0)
            .map(|day| (x(day), y(best.at(day, trend.middle_day).clamp(low, high))))
            .collect();
        canvas.polyline(&points, 1.5, (!named).then_some("6 4"));
    }
    for r in finite {
        let half = COVER_95 * r.sd_mm;
        canvas.line(
            x(r.day),
            y(r.value_mm - half),
            x(r.day),
            y(r.value_mm + half),
            1.0,
            None,
        );
        canvas.dot(x(r.day), y(r.value_mm), 3.0);
    }
    let key = if named {
        "bars: 95 % reading error; line: best fit"
    } else {
        "bars: 95 % reading error; dashed: likeliest fit, but none may be named"
    };
    canvas.text(610.0, 396.0, "end", key);
    canvas.done()
}

/// Starts of months from the first day to the last, some eight of them, with their names: `Mar 2026`. Days are counted
/// from 1970-01-01. None where the dates are not of the years 1600 to 3000.
fn months(first: f64, last: f64) -> Vec<(f64, String)> {
    const NAMES: [&str; 12] = [
        "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
    ];
    if !(-135_000.0..=376_000.0).contains(&first) || !(first..=376_000.0).contains(&last) {
        return Vec::new();
    }
    let of = |day: f64| 1970 * 12 + libm::floor(day / 30.436_875) as i32;
    let all = of(last) - of(first) + 1;
    let step = [1, 2, 3, 6]
        .into_iter()
        .find(|step| all / step <= 8)
        .unwrap_or(12 * (all / 96 + 1));
    let from = (of(first) - 1).div_euclid(step) * step;
    (0..=all / step + 2)
        .map(|i| from + i * step)
        .filter_map(|month| {
            let (year, at) = (month.div_euclid(12), month.rem_euclid(12));
            let day = day_number(year, at as u32 + 1, 1)? as f64;
            let name = NAMES.get(at as usize)?;
            (first..=last).contains(&day).then(|| (day, format!("{name} {year}")))
        })
        .collect()
}
