//! A head of settings and a table of text cells, each of which knows where it stands.

use std::sync::Arc;

use wythe_text::{Doc, Fields, Item, Locus, MAX_BYTES, Problem, Problems, Spot, Tree, nearest, shown};

/// Most rows of a table.
const MAX_ROWS: usize = 20_000;
/// Most cells of a row, before a line is refused whole.
const MAX_CELLS: usize = 50;

/// Where a cell or a row stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum At {
    Locus(Locus),
    Spot(Spot),
}

/// One filled cell.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Cell {
    pub text: String,
    pub at: At,
}

/// One row: a cell, or none, for each column.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Row {
    pub cells: Vec<Option<Cell>>,
    pub at: At,
}

/// A file of readings.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Sheet {
    /// The settings; of a CSV file, its head.
    pub doc: Doc,
    /// The whole text of a CSV file, to show its lines.
    csv: Option<Arc<str>>,
    /// Where the settings stand in it.
    head: Locus,
    pub rows: Vec<Row>,
}

impl Sheet {
    /// A sheet of settings alone, at an item.
    pub fn of_settings(item: &Item<'_>) -> Self {
        Self {
            doc: item.doc().clone(),
            csv: None,
            head: item.locus(),
            rows: Vec::new(),
        }
    }

    /// The settings.
    pub fn settings(&self, out: &mut Problems, keys: &[&str]) -> Fields<'_> {
        let head = self.doc.item_at(self.head).unwrap_or_else(|| self.doc.root());
        head.fields(out, keys)
    }

    /// Reads a file: CSV when its name ends in `.csv`. `keys` are the names of the settings, `columns` those of the
    /// table, the first `needed` of them in every row.
    pub fn read(
        name: &str,
        text: &str,
        keys: &[&str],
        columns: &[&str],
        needed: usize,
        out: &mut Problems,
    ) -> Result<Self, Problems> {
        if name.to_ascii_lowercase().ends_with(".csv") {
            return Self::csv(name, text, keys, columns, needed, out);
        }
        let doc = Doc::parse(name, text)?;
        format(&doc.root().fields(&mut Problems::new(), keys), out, true);
        Ok(Self::of_item(&doc.root(), keys, columns, needed, out))
    }

    /// Reads a sheet that stands at an item of a file.
    pub fn of_item(item: &Item<'_>, keys: &[&str], columns: &[&str], needed: usize, out: &mut Problems) -> Self {
        let mut known = keys.to_vec();
        known.push("readings");
        let fields = item.fields(out, &known);
        let mut rows = Vec::new();
        let list = fields
            .required(out, "readings")
            .map(|item| item.list(out))
            .unwrap_or_default();
        if list.len() > MAX_ROWS {
            out.push(fields.problem(format!("more than {MAX_ROWS} readings"), None));
        }
        for item in list.into_iter().take(MAX_ROWS) {
            if out.is_full() {
                break;
            }
            let fields = item.fields(out, columns);
            for column in columns.iter().take(needed) {
                fields.required(out, column);
            }
            let cells = columns
                .iter()
                .map(|column| fields.optional(column).and_then(|item| cell_of(&item, out)))
                .collect();
            rows.push(Row {
                cells,
                at: At::Locus(item.locus()),
            });
        }
        Self {
            doc: item.doc().clone(),
            csv: None,
            head: item.locus(),
            rows,
        }
    }

    fn csv(
        name: &str,
        text: &str,
        keys: &[&str],
        columns: &[&str],
        needed: usize,
        out: &mut Problems,
    ) -> Result<Self, Problems> {
        if text.len() > MAX_BYTES {
            return Err(Problem::new(name, format!("the file is larger than {MAX_BYTES} bytes"), None).into());
        }
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let is_head = |line: &&str| line.trim().is_empty() || line.trim_start().starts_with('#');
        let head: String = text
            .lines()
            .take_while(is_head)
            .map(|line| line.replacen('#', " ", 1) + "\n")
            .collect();
        let doc = Doc::parse(name, if head.trim().is_empty() { "{}" } else { &head })?;
        format(&doc.root().fields(out, keys), out, false);
        let mut order: Option<Vec<Option<usize>>> = None;
        let mut rows = Vec::new();
        for (number, line) in (1..).zip(text.lines()) {
            if is_head(&line) || out.is_full() {
                continue;
            }
            let Some(cells) = cells_of(name, number, line, out) else {
                continue;
            };
            let whole = Spot {
                line: number,
                column: 1,
                length: line.chars().count().max(1),
            };
            let Some(order) = &order else {
                order = Some(header((name, line), &cells, whole, columns, needed, out));
                continue;
            };
            if rows.len() >= MAX_ROWS {
                out.push(at_spot(
                    (name, line),
                    whole,
                    format!("more than {MAX_ROWS} readings"),
                    None,
                ));
                break;
            }
            let mut row = Row {
                cells: vec![None; columns.len()],
                at: At::Spot(whole),
            };
            for (index, cell) in cells.into_iter().enumerate() {
                match order.get(index) {
                    Some(Some(column)) => {
                        if let Some(place) = row.cells.get_mut(*column) {
                            *place = Some(cell).filter(|cell| !cell.text.is_empty());
                        }
                    }
                    Some(None) => {}
                    None if cell.text.is_empty() => {}
                    None => out.push(at_spot(
                        (name, line),
                        match cell.at {
                            At::Spot(spot) => spot,
                            At::Locus(_) => whole,
                        },
                        "this is one value more than the table has columns",
                        Some("give every column a name in the first row".into()),
                    )),
                }
            }
            for (column, cell) in columns.iter().zip(&row.cells).take(needed) {
                if cell.is_none() && order.contains(&columns.iter().position(|one| one == column)) {
                    out.push(at_spot(
                        (name, line),
                        whole,
                        format!("`{column}` is missing in this row"),
                        None,
                    ));
                }
            }
            rows.push(row);
        }
        if order.is_none() {
            let what = "the file has no table";
            out.push(Problem::new(
                name,
                what,
                Some(format!("begin it with the row `{}`", columns.join(","))),
            ));
        }
        Ok(Self {
            doc,
            csv: Some(text.into()),
            head: Locus::default(),
            rows,
        })
    }

    /// A problem with the sheet as a whole: with the file, or with the part of a file where it stands.
    pub fn whole_problem(&self, what: String) -> Problem {
        if self.head == Locus::default() {
            Problem::new(self.doc.name(), what, None)
        } else {
            self.doc.problem_at(&self.head, what, None)
        }
    }

    /// A problem with a cell or a row.
    pub fn problem(&self, at: At, what: impl Into<String>, help: Option<String>) -> Problem {
        match at {
            At::Locus(locus) => self.doc.problem_at(&locus, what, help),
            At::Spot(spot) => {
                let lines = self.csv.as_deref().unwrap_or_default();
                let line = lines.lines().nth(spot.line.saturating_sub(1)).unwrap_or_default();
                at_spot((self.doc.name(), line), spot, what, help)
            }
        }
    }
}

/// A problem at a spot of a file; `file` is its name and the line.
fn at_spot(file: (&str, &str), spot: Spot, what: impl Into<String>, help: Option<String>) -> Problem {
    Problem::new(file.0, what, help).at(spot, file.1)
}

/// `format: 1`, which a table in CSV may leave out.
pub(super) fn format(fields: &Fields<'_>, out: &mut Problems, needed: bool) {
    let item = if needed {
        fields.required(out, "format")
    } else {
        fields.optional("format")
    };
    if let Some(item) = item
        && *item.tree() != Tree::Integer(1)
    {
        item.problem(out, "the only format known here is 1", Some("write `format: 1`".into()));
    }
}

/// A value as text.
pub(super) fn cell_of(item: &Item<'_>, out: &mut Problems) -> Option<Cell> {
    let text = match item.tree() {
        Tree::Null => return None,
        Tree::Text(text) => text.trim().to_owned(),
        Tree::Integer(number) => number.to_string(),
        Tree::Number(number) => number.to_string(),
        _ => item.text(out)?.to_owned(),
    };
    Some(Cell {
        text,
        at: At::Locus(item.locus()),
    })
    .filter(|cell| !cell.text.is_empty())
}

/// The cells of one line.
fn cells_of(name: &str, number: usize, line: &str, out: &mut Problems) -> Option<Vec<Cell>> {
    let whole = Spot {
        line: number,
        column: 1,
        length: 1,
    };
    let hidden = |c: char| {
        (c.is_control() && c != '\t')
            || matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    if let Some((at, c)) = line.chars().enumerate().find(|(_, c)| hidden(*c)) {
        let spot = Spot {
            column: at.saturating_add(1),
            ..whole
        };
        out.push(at_spot(
            (name, line),
            spot,
            format!("the control character U+{:04X} is not read", u32::from(c)),
            Some("take it out".into()),
        ));
        return None;
    }
    // A lone inch mark is no quote, so quotes count only where a cell begins with one.
    let spots = columns_of(number, line);
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(line.as_bytes());
    let mut record = csv::StringRecord::new();
    if !reader.read_record(&mut record).unwrap_or(false) || record.len() > MAX_CELLS || record.len() != spots.len() {
        out.push(at_spot(
            (name, line),
            whole,
            "this row can't be read as values with commas between",
            Some("close every quote in its own row".into()),
        ));
        return None;
    }
    Some(
        record
            .iter()
            .zip(spots)
            .map(|(text, spot)| Cell {
                text: text.to_owned(),
                at: At::Spot(spot),
            })
            .collect(),
    )
}

/// Where each cell of a line begins, and its length; none when a quote is not closed.
fn columns_of(line: usize, text: &str) -> Vec<Spot> {
    let mut spots = Vec::new();
    let (mut start, mut length, mut quoted, mut fresh) = (1_usize, 0_usize, false, true);
    let mut column = 0_usize;
    for c in text.chars() {
        column = column.saturating_add(1);
        match c {
            ',' if !quoted => {
                spots.push(Spot {
                    line,
                    column: start,
                    length: length.max(1),
                });
                (start, length, fresh) = (column.saturating_add(1), 0, true);
            }
            '"' if fresh || quoted => {
                quoted = !quoted;
                fresh = false;
                length = length.saturating_add(1);
            }
            c if c.is_whitespace() && length == 0 => start = column.saturating_add(1),
            _ => {
                fresh = false;
                length = column.saturating_sub(start).saturating_add(1);
            }
        }
    }
    if quoted {
        return Vec::new();
    }
    spots.push(Spot {
        line,
        column: start,
        length: length.max(1),
    });
    spots
}

/// Which of the known columns each cell of the first row names.
fn header(
    file: (&str, &str),
    cells: &[Cell],
    whole: Spot,
    columns: &[&str],
    needed: usize,
    out: &mut Problems,
) -> Vec<Option<usize>> {
    let mut order: Vec<Option<usize>> = Vec::new();
    for cell in cells {
        let text = cell.text.to_ascii_lowercase();
        let found = columns.iter().position(|column| *column == text);
        let At::Spot(spot) = cell.at else { continue };
        if found.is_none() {
            let near = nearest(&text, columns.iter().copied())
                .map_or(String::new(), |near| format!("did you mean `{near}`? "));
            let help = format!("{near}columns known here: {}", columns.join(", "));
            out.push(at_spot(
                file,
                spot,
                format!("{} is not a column known here", shown(&cell.text)),
                Some(help),
            ));
        } else if order.contains(&found) {
            out.push(at_spot(
                file,
                spot,
                format!("the column `{text}` is given twice"),
                Some("keep one of them".into()),
            ));
        }
        order.push(found);
    }
    for (index, column) in columns.iter().enumerate().take(needed) {
        if !order.contains(&Some(index)) {
            out.push(at_spot(
                file,
                whole,
                format!("the column `{column}` is missing"),
                Some("name it in the first row".into()),
            ));
        }
    }
    order
}
