//! What was learned of the ground: indexes of the soil, falls, trees.

use wythe_measure::site::{ExpansiveTests, SPECIES, TreeSpecies};
use wythe_measure::{COVER_95, Estimate, Length, Quantity, parse_measured_as};
use wythe_text::{Doc, Fields, Item, Problems, nearest, shown};

use super::sheet::{Sheet, cell_of, format};
use super::values::{error_sd, length, name, setting, title};

const KEYS: [&str; 8] = [
    "format",
    "title",
    "soil",
    "falls",
    "fall_error",
    "trees",
    "tree_error",
    "note",
];
const SOIL: [&str; 6] = [
    "plasticity_index",
    "expansion_index",
    "linear_extensibility",
    "passing_200",
    "finer_5_micron",
    "surface_movement",
];
/// Error of a fall when none is stated, mm, 95 %: 1/2 in with a level over 10 ft (common practice, no source).
const FALL_MM: f64 = 12.7;
/// Error of the distance of a tree when none is stated, mm, 95 %: 3 ft (common practice, no source).
const TREE_MM: f64 = 914.4;
/// Most falls, and most trees.
const MOST: usize = 100;

/// A fall of the ground away from the house.
#[derive(Clone, Debug, PartialEq)]
pub struct Fall {
    /// Where.
    pub name: String,
    /// How far it falls; below 0 it falls toward the house.
    pub fall: Length,
    /// Over which run.
    pub run: Length,
    /// True on paving, of which less is asked.
    pub paved: bool,
}

/// A tree near the house.
#[derive(Clone, Debug, PartialEq)]
pub struct Tree {
    /// Which.
    pub name: String,
    /// From its trunk to the nearest face of the house.
    pub distance: Length,
    /// Its mature height: as stated, or of its species.
    pub height: Length,
    /// The species, where it is one of the table.
    pub species: Option<TreeSpecies>,
}

/// What was learned of the site.
#[derive(Clone, Debug, PartialEq)]
pub struct Site {
    /// Which site.
    pub title: String,
    /// Plasticity index, expansion index, linear extensibility in percent: each where known.
    pub indexes: [Option<Estimate<f64>>; 3],
    /// The tests that say whether a code counts the soil as expansive.
    pub tests: ExpansiveTests,
    /// How far the surface moves between dry and wet, mm, where a report says.
    pub surface_movement_mm: Option<f64>,
    /// Falls of the ground.
    pub falls: Vec<Fall>,
    /// Standard deviation of a fall, mm.
    pub fall_sd_mm: f64,
    /// Trees.
    pub trees: Vec<Tree>,
    /// Standard deviation of a distance of a tree, mm.
    pub tree_sd_mm: f64,
    /// What must be said with the results, a sentence each.
    pub notes: Vec<String>,
}

impl Site {
    /// Reads a sheet of the site: JSON when the name ends in `.json`, else YAML.
    ///
    /// # Errors
    /// Every problem found, with its line and column.
    pub fn read(file: &str, text: &str) -> Result<Site, Problems> {
        let doc = Doc::parse(file, text)?;
        let mut out = Problems::new();
        format(&doc.root().fields(&mut Problems::new(), &KEYS), &mut out, true);
        let read = Self::of_item(&doc.root(), &mut out);
        out.sorted().into_result(read)
    }

    /// Reads what stands at an item of a file.
    pub(crate) fn of_item(item: &Item<'_>, out: &mut Problems) -> Site {
        let sheet = Sheet::of_settings(item);
        let fields = sheet.settings(out, &KEYS);
        let empty = ["soil", "falls", "trees"]
            .iter()
            .all(|key| fields.optional(key).is_none());
        if empty {
            let help = "give `soil:`, `falls:` or `trees:`";
            out.push(fields.problem("nothing is told of the site here", Some(help.into())));
        }
        let mut site = Site {
            title: title(&sheet, &fields, out),
            indexes: [None; 3],
            tests: ExpansiveTests::default(),
            surface_movement_mm: None,
            falls: Vec::new(),
            fall_sd_mm: FALL_MM / COVER_95,
            trees: Vec::new(),
            tree_sd_mm: TREE_MM / COVER_95,
            notes: Vec::new(),
        };
        if let Some(item) = fields.optional("soil") {
            site.soil(&sheet, &item.fields(out, &SOIL), out);
        }
        for item in list(&fields, "falls", out) {
            site.falls.extend(fall(&sheet, &item, out));
        }
        for item in list(&fields, "trees", out) {
            site.trees.extend(tree(&sheet, &item, out));
        }
        let mut stated = |key: &str, used: bool, said: &str, sd: &mut f64| match setting(&fields, key, out)
            .and_then(|cell| tree_or_fall_sd(&sheet, &cell, out))
        {
            Some(given) => *sd = given,
            None if used => site.notes.push(format!("No error is stated: {said}.")),
            None => {}
        };
        let (falls, trees) = (!site.falls.is_empty(), !site.trees.is_empty());
        let of_fall = "a fall of the ground is taken as good to ± 1/2 in (13 mm)";
        stated("fall_error", falls, of_fall, &mut site.fall_sd_mm);
        let of_tree = "the distance of a tree is taken as good to ± 3 ft (0.9 m)";
        stated("tree_error", trees, of_tree, &mut site.tree_sd_mm);
        site
    }

    fn soil(&mut self, sheet: &Sheet, soil: &Fields<'_>, out: &mut Problems) {
        let mut number = |key: &str| {
            let cell = setting(soil, key, out)?;
            match parse_measured_as(&cell.text, Quantity::Number) {
                Ok(read) if (0.0..=1000.0).contains(&read.value) => Some(Estimate {
                    value: read.value,
                    sd: read.sd.unwrap_or(0.0),
                }),
                Ok(_) => {
                    out.push(sheet.problem(cell.at, "a number of the soil is 0 to 1000", None));
                    None
                }
                Err(error) => {
                    let help = Some("write for example `38 ± 4`".into());
                    let what = format!("{} is not read as a number: {error}", shown(&cell.text));
                    out.push(sheet.problem(cell.at, what, help));
                    None
                }
            }
        };
        self.indexes = [
            number("plasticity_index"),
            number("expansion_index"),
            number("linear_extensibility"),
        ];
        let (fines, clay) = (number("passing_200"), number("finer_5_micron"));
        let value = |of: Option<Estimate<f64>>| of.map(|of| of.value);
        self.tests = ExpansiveTests {
            plasticity_index: value(self.indexes[0]),
            passing_200: value(fines),
            finer_5_micron: value(clay),
            expansion_index: value(self.indexes[1]),
        };
        let moved = setting(soil, "surface_movement", out).and_then(|cell| length(sheet, &cell, None, out));
        self.surface_movement_mm = moved.map(Length::as_mm);
    }
}

/// Errors of the ground are wider than those of a floor, so the range is that of a length.
fn tree_or_fall_sd(sheet: &Sheet, cell: &super::sheet::Cell, out: &mut Problems) -> Option<f64> {
    let mm = length(sheet, cell, None, out)?.as_mm();
    if mm <= 190.0 {
        return error_sd(sheet, cell, None, out);
    }
    if mm > 20_000.0 {
        out.push(sheet.problem(cell.at, "an error is up to 20 m", None));
        return None;
    }
    Some(mm / COVER_95)
}

fn list<'d>(fields: &Fields<'d>, key: &str, out: &mut Problems) -> Vec<Item<'d>> {
    let all = fields.optional(key).map(|item| item.list(out)).unwrap_or_default();
    if all.len() > MOST {
        out.push(fields.problem(format!("more than {MOST} under `{key}`"), None));
    }
    all.into_iter().take(MOST).collect()
}

fn named(sheet: &Sheet, fields: &Fields<'_>, out: &mut Problems) -> Option<String> {
    let cell = fields.required(out, "name").and_then(|item| cell_of(&item, out))?;
    name(sheet, &cell, out)
}

fn fall(sheet: &Sheet, item: &Item<'_>, out: &mut Problems) -> Option<Fall> {
    let fields = item.fields(out, &["name", "fall", "run", "paved"]);
    let name = named(sheet, &fields, out);
    let mut size = |key: &str| {
        fields.required(out, key)?;
        setting(&fields, key, out).and_then(|cell| length(sheet, &cell, None, out))
    };
    let (fall, run) = (size("fall"), size("run"));
    if run.is_some_and(|run| run.as_mm() < 100.0) {
        item.problem(out, "the run of a fall is 100 mm (4 in) or more", None);
        return None;
    }
    let paved = fields
        .optional("paved")
        .and_then(|item| item.flag(out))
        .unwrap_or(false);
    Some(Fall {
        name: name?,
        fall: fall?,
        run: run?,
        paved,
    })
}

fn tree(sheet: &Sheet, item: &Item<'_>, out: &mut Problems) -> Option<Tree> {
    let fields = item.fields(out, &["name", "distance", "height", "species"]);
    let name = named(sheet, &fields, out);
    let mut size = |key: &str| setting(&fields, key, out).and_then(|cell| length(sheet, &cell, None, out));
    let (distance, stated) = (size("distance"), size("height"));
    fields.required(out, "distance");
    let mut species = None;
    if let Some(cell) = setting(&fields, "species", out) {
        let wanted = cell.text.to_lowercase();
        species = SPECIES.iter().find(|one| one.name.to_lowercase() == wanted).copied();
        if species.is_none() && stated.is_none() {
            let near = nearest(&wanted, SPECIES.iter().map(|one| one.name));
            let help = near.map_or_else(
                || "give its mature `height` instead".into(),
                |near| format!("did you mean `{near}`? Else give its mature `height`"),
            );
            out.push(sheet.problem(
                cell.at,
                format!("{} is not in the table of trees", shown(&cell.text)),
                Some(help),
            ));
        }
    } else if stated.is_none() {
        out.push(fields.problem(
            "the height of the tree is missing here",
            Some("give `height:`, or a `species:` of the table".into()),
        ));
    }
    let height = stated.or_else(|| species.and_then(|one| Length::mm(1000.0 * one.mature_m).ok()))?;
    if height.as_mm() < 100.0 || distance.is_some_and(|distance| distance.nm() < 0) {
        item.problem(
            out,
            "a tree stands 0 or more away and is taller than 100 mm (4 in)",
            None,
        );
        return None;
    }
    Some(Tree {
        name: name?,
        distance: distance?,
        height,
        species,
    })
}
