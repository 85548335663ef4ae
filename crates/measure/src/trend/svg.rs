//! A plot of readings over time, as SVG text.

use super::{DatedReading, Trend, YEAR_DAYS};
use crate::COVER_95;
use crate::svg::{Canvas, ticks};

/// Plot readings with 95 % bars and the likeliest fit. Black on white, so it
/// prints; the fit is dashed where the verdict names none. `title` is shown
/// as given; days are shown as years from the first reading.
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
    let mut canvas = Canvas::new(640.0, 400.0, title);
    if !(first < last && low < high) {
        canvas.text(320.0, 200.0, "middle", "too little to plot");
        return canvas.done();
    }
    let pad = 0.05 * (high - low);
    let (low, high) = (low - pad, high + pad);
    let x = |day: f64| 70.0 + 540.0 * (day - first) / (last - first);
    let y = |mm: f64| 340.0 - 290.0 * (mm - low) / (high - low);
    canvas.line(70.0, 340.0, 610.0, 340.0, 1.0, None);
    canvas.line(70.0, 340.0, 70.0, 50.0, 1.0, None);
    for mm in ticks(low, high, 6) {
        canvas.line(66.0, y(mm), 70.0, y(mm), 1.0, None);
        canvas.text(62.0, y(mm) + 4.0, "end", &format!("{mm:.2}"));
    }
    for year in ticks(0.0, (last - first) / YEAR_DAYS, 6) {
        let at = x(first + year * YEAR_DAYS);
        canvas.line(at, 340.0, at, 344.0, 1.0, None);
        canvas.text(at, 358.0, "middle", &format!("{year:.2}"));
    }
    canvas.text(340.0, 376.0, "middle", "years from the first reading");
    canvas.text(70.0, 42.0, "middle", "mm");
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
    canvas.text(610.0, 394.0, "end", key);
    canvas.done()
}
