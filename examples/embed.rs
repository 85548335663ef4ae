//! How inspection software embeds the library: read, weigh, and use the values rather than the text.
//!
//! `cargo run --example embed`

use wythe::{About, Action};

fn main() -> Result<(), wythe::Error> {
    let pack = wythe::built_in_pack();
    let case = wythe::read_case("examples/cases/dropped-corner.yaml")?;
    let outcome = wythe::weigh(pack, &case)?;
    for conclusion in outcome.conclusions.iter().filter(|one| one.action >= Action::Monitor) {
        let name = match conclusion.about {
            About::Mechanism { mechanism, at } => {
                let place = case.places.get(at).map_or("", |place| place.id.as_str());
                format!("{} at {place}", pack[mechanism].title)
            }
            About::Family(family) => pack[family].title.clone(),
        };
        println!(
            "{name}: {} ({:.2}), {}",
            conclusion.support,
            conclusion.chance,
            conclusion.action.name()
        );
    }
    Ok(())
}
