//! Steel angles, long leg vertical unless said otherwise.

/// Weight of steel, lb per cubic inch (490 lb/ft3; common practice).
const STEEL_LB_PER_IN3: f64 = 490.0 / 1728.0;

/// A rolled steel angle and its section properties.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SteelAngle {
    /// Size: vertical leg, horizontal leg, thickness, in inches.
    pub name: &'static str,
    /// Vertical leg, in.
    pub vertical_leg_in: f64,
    /// Horizontal leg, in.
    pub horizontal_leg_in: f64,
    /// Thickness, in.
    pub thickness_in: f64,
    /// Area, in².
    pub area_in2: f64,
    /// Second moment of area about the horizontal axis, in⁴.
    pub ix_in4: f64,
    /// Second moment of area about the vertical axis, in⁴: what is left when
    /// the long leg is laid flat.
    pub iy_in4: f64,
    /// Section modulus about the horizontal axis, in³.
    pub sx_in3: f64,
}

/// Standard angles used as loose lintels (American steel tables; each second
/// moment was checked against a second table).
///
/// A row: name, legs, thickness, area, Ix, Iy, Sx.
#[rustfmt::skip]
pub const ANGLES: [SteelAngle; 20] = [
    row("3 x 3 x 1/4", 3.0, 3.0, 0.25, 1.44, 1.23, 1.23, 0.569),
    row("3 x 3 x 5/16", 3.0, 3.0, 0.3125, 1.78, 1.50, 1.50, 0.699),
    row("3-1/2 x 3 x 1/4", 3.5, 3.0, 0.25, 1.58, 1.92, 1.30, 0.773),
    row("3-1/2 x 3-1/2 x 1/4", 3.5, 3.5, 0.25, 1.70, 2.00, 2.00, 0.787),
    row("3-1/2 x 3-1/2 x 5/16", 3.5, 3.5, 0.3125, 2.10, 2.44, 2.44, 0.969),
    row("4 x 3 x 1/4", 4.0, 3.0, 0.25, 1.69, 2.75, 1.33, 0.988),
    row("4 x 3 x 5/16", 4.0, 3.0, 0.3125, 2.09, 3.36, 1.62, 1.22),
    row("4 x 3-1/2 x 1/4", 4.0, 3.5, 0.25, 1.82, 2.89, 2.07, 1.01),
    row("4 x 3-1/2 x 5/16", 4.0, 3.5, 0.3125, 2.25, 3.53, 2.52, 1.25),
    row("4 x 4 x 1/4", 4.0, 4.0, 0.25, 1.93, 3.00, 3.00, 1.03),
    row("5 x 3 x 1/4", 5.0, 3.0, 0.25, 1.94, 5.09, 1.41, 1.51),
    row("5 x 3 x 5/16", 5.0, 3.0, 0.3125, 2.41, 6.24, 1.72, 1.87),
    row("5 x 3-1/2 x 1/4", 5.0, 3.5, 0.25, 2.07, 5.36, 2.20, 1.55),
    row("5 x 3-1/2 x 5/16", 5.0, 3.5, 0.3125, 2.56, 6.58, 2.69, 1.92),
    row("5 x 3-1/2 x 3/8", 5.0, 3.5, 0.375, 3.05, 7.75, 3.15, 2.28),
    row("6 x 3-1/2 x 5/16", 6.0, 3.5, 0.3125, 2.89, 10.9, 2.84, 2.72),
    row("6 x 3-1/2 x 3/8", 6.0, 3.5, 0.375, 3.44, 12.9, 3.33, 3.23),
    row("6 x 4 x 5/16", 6.0, 4.0, 0.3125, 3.03, 11.4, 4.13, 2.77),
    row("6 x 4 x 3/8", 6.0, 4.0, 0.375, 3.61, 13.4, 4.86, 3.30),
    row("7 x 4 x 3/8", 7.0, 4.0, 0.375, 4.00, 20.5, 5.06, 4.42),
];

#[allow(clippy::too_many_arguments)] // one table row
const fn row(
    name: &'static str,
    vertical_leg_in: f64,
    horizontal_leg_in: f64,
    thickness_in: f64,
    area_in2: f64,
    ix_in4: f64,
    iy_in4: f64,
    sx_in3: f64,
) -> SteelAngle {
    SteelAngle {
        name,
        vertical_leg_in,
        horizontal_leg_in,
        thickness_in,
        area_in2,
        ix_in4,
        iy_in4,
        sx_in3,
    }
}

impl SteelAngle {
    /// The standard angle whose legs and thickness are nearest, each within
    /// 1/32 in; `None` when there is none.
    ///
    /// ```
    /// use wythe_measure::lintel::SteelAngle;
    /// assert_eq!(SteelAngle::standard(4.0, 3.0, 0.25).unwrap().ix_in4, 2.75);
    /// assert!(SteelAngle::standard(8.0, 3.0, 0.25).is_none());
    /// ```
    pub fn standard(vertical_leg_in: f64, horizontal_leg_in: f64, thickness_in: f64) -> Option<Self> {
        let near = |a: f64, b: f64| (a - b).abs() <= 1.0 / 32.0;
        ANGLES
            .iter()
            .filter(|a| near(a.vertical_leg_in, vertical_leg_in) && near(a.horizontal_leg_in, horizontal_leg_in))
            .filter(|a| near(a.thickness_in, thickness_in))
            .min_by(|a, b| {
                let off = |s: &Self| (s.thickness_in - thickness_in).abs();
                off(a).total_cmp(&off(b))
            })
            .copied()
    }

    /// Of any size, as if its corners were square: within about 1.3 % of the
    /// standard tables. `None` when a leg is not thicker than nothing and
    /// longer than the thickness, or above 24 in.
    pub fn square_cornered(vertical_leg_in: f64, horizontal_leg_in: f64, thickness_in: f64) -> Option<Self> {
        let (d, b, t) = (vertical_leg_in, horizontal_leg_in, thickness_in);
        if !(t > 0.0 && d > t && b > t && d <= 24.0 && b <= 24.0) {
            return None;
        }
        let area = t * (d + b - t);
        let about = |d: f64, b: f64| {
            // Both legs about the heel, then moved to the centroid.
            let heel = (t * d * d * d + (b - t) * t * t * t) / 3.0;
            let centroid = (t * d * d + (b - t) * t * t) / (2.0 * area);
            (heel - area * centroid * centroid, centroid)
        };
        let (ix, centroid) = about(d, b);
        let (iy, _) = about(b, d);
        Some(Self {
            name: "square-cornered angle",
            vertical_leg_in: d,
            horizontal_leg_in: b,
            thickness_in: t,
            area_in2: area,
            ix_in4: ix,
            iy_in4: iy,
            sx_in3: ix / (d - centroid),
        })
    }

    /// Own weight, lb per inch.
    pub fn weight_lb_per_in(&self) -> f64 {
        self.area_in2 * STEEL_LB_PER_IN3
    }
}
