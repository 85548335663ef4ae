//! Benches, one a stage.

/// As the program has it, for what is measured of the main job.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// The example houses that need no sheet beside them: name and case file.
pub const HOUSES: [(&str, &str); 4] = [
    ("quiet-corner", include_str!("../../examples/cases/quiet-corner.yaml")),
    ("short-seat", include_str!("../../examples/cases/short-seat.yaml")),
    (
        "dropped-corner",
        include_str!("../../examples/cases/dropped-corner.yaml"),
    ),
    ("second-pass", include_str!("../../examples/cases/second-pass.yaml")),
];
