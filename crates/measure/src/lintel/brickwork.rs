//! Growth of brick veneer, and the joints that take it.

/// Growth of a length of veneer, in the length's unit: moisture expansion and
/// temperature. `moisture` and `thermal` are per unit length (and degree).
///
/// ```
/// use wythe_measure::lintel::veneer_growth;
/// // 25 ft, 3e-4 and 4e-6 by 50 F: 0.15 in (an engineers' forum).
/// assert!((veneer_growth(300.0, 3e-4, 4e-6, 50.0) - 0.15).abs() < 1e-12);
/// // 5e-4 and 4e-6 by 100 F: 0.0009 in all ("Brick movement joints", 2011).
/// assert!((veneer_growth(1.0, 5e-4, 4e-6, 100.0) - 0.0009).abs() < 1e-15);
/// // 24 ft of brick at 3.6e-6 by 120 F: 0.124 in (Allen, Fundamentals).
/// assert!((veneer_growth(288.0, 0.0, 3.6e-6, 120.0) - 0.124).abs() < 5e-4);
/// ```
pub fn veneer_growth(length: f64, moisture: f64, thermal: f64, degrees: f64) -> f64 {
    length * (moisture + thermal * degrees)
}

/// Spacing of movement joints, in, from the joint's width, the sealant's
/// movement as a share, and the growth per unit length.
///
/// ```
/// use wythe_measure::lintel::joint_spacing_in;
/// // 1/2 in at 50 %: 23 ft 2 in (BIA Technical Note 18A, 2006; formula from
/// // memory). 3/8 in at 50 %: 208 in (an article, "Brick movement joints",
/// // 2011).
/// assert_eq!(joint_spacing_in(0.5, 0.5, 0.0009).unwrap().round(), 23.0 * 12.0 + 2.0);
/// assert_eq!(joint_spacing_in(0.375, 0.5, 0.0009).unwrap().round(), 208.0);
/// ```
pub fn joint_spacing_in(width_in: f64, sealant: f64, growth: f64) -> Option<f64> {
    let spacing = width_in * sealant / growth;
    (spacing.is_finite() && spacing > 0.0).then_some(spacing)
}

/// Width of the joint that takes a movement with a sealant that moves by a
/// share of it.
///
/// ```
/// // 1/8 in at 25 %: 1/2 in (Allen, Fundamentals).
/// assert_eq!(wythe_measure::lintel::joint_width_in(0.125, 0.25), Some(0.5));
/// ```
pub fn joint_width_in(movement_in: f64, sealant: f64) -> Option<f64> {
    let width = movement_in / sealant;
    (width.is_finite() && width >= 0.0).then_some(width)
}

/// Joints beside a corner: within 10 ft on one leg, and both legs together no
/// longer than the straight-wall spacing (BIA 18A). Returns both legs, ft.
///
/// ```
/// assert_eq!(wythe_measure::lintel::corner_legs(25.0), (10.0, 15.0));
/// ```
pub fn corner_legs(spacing_ft: f64) -> (f64, f64) {
    let near = spacing_ft.min(10.0);
    (near, spacing_ft - near)
}
