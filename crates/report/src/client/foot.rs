//! The end of the client's form: what floor readings say, the words used, how to read the chances, the cautions.

use wythe_measure::survey::TILT_HIDES;

use wythe_pack::Pack;

use super::Telling;
use crate::phrase::{listed, sentence};
use crate::wrap::Lines;

/// The words of the trade that are used, and what each means.
pub(crate) fn explained(pack: &Pack, used: impl Fn(&str) -> bool) -> Vec<String> {
    let all = pack.wording.client_words.iter();
    all.filter(|(word, _)| used(word))
        .map(|(word, means)| sentence(&format!("{word}: {means}")))
        .collect()
}

impl Telling<'_> {
    /// What the numbers of a floor survey say, and what they do not.
    pub(super) fn floors(&self, lines: &mut Lines) {
        let mut begun = false;
        for sheet in &self.page.readings {
            let number = |name: &str| sheet.numbers.iter().find(|one| one.name == name);
            let (Some(all), Some(left)) = (number("high-low"), number("off-plane")) else {
                continue;
            };
            if !begun {
                lines.heading("What the floor readings say");
                begun = true;
            }
            let hides = all.notes.iter().any(|note| note == TILT_HIDES);
            let more = if hides { format!(" {TILT_HIDES}") } else { String::new() };
            lines.item(
                0,
                &format!(
                    "From the highest to the lowest point: {}. With the even tilt of the floor taken out, {} is left.{}",
                    all.both, left.both, more
                ),
            );
            if let (Some(all), Some(left)) = (all.value, left.value)
                && left < all / 2.0
            {
                lines.item(0, "So most of it is one even tilt, and little of it is bend.");
            }
            lines.item(
                0,
                "No house floor is built dead level. One set of readings can not tell a floor that was built so from one that moved.",
            );
        }
    }

    /// The words of the trade that the text used, and what each means.
    pub(super) fn words(&self, lines: &mut Lines) {
        let used = explained(self.pack, |word| lines.uses(word));
        if used.is_empty() {
            return;
        }
        lines.heading("Words used");
        for one in used {
            lines.item(0, &one);
        }
    }

    /// How to read the chances, and the cautions.
    pub(super) fn foot(&self, lines: &mut Lines) {
        let [some, fair, strong] = self.page.policy.some_fair_strong;
        lines.heading("How to read the words");
        lines.say(
            0,
            &format!(
                "How firm is told by four words. Slight is under {some}. Some is from {some}. Fair is from {fair}. Strong is over {strong}. The number is a chance: 0.5 is as likely as not. Beside a sign, such a word tells its size. The chances come from what builders and engineers have put in print, and from common practice. They are no firmer than that."
            ),
        );
        lines.heading("Please note");
        for caution in &self.page.cautions {
            lines.item(0, caution);
        }
        let passes: Vec<String> = self.page.case.as_of.iter().cloned().collect();
        if !passes.is_empty() {
            lines.item(
                0,
                &format!(
                    "This takes in the visit up to \"{}\". The rules used: {}, version {}.",
                    listed(&passes),
                    self.page.pack.id,
                    self.page.pack.version
                ),
            );
        }
    }
}
