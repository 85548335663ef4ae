/// Choices drawn from a list of numbers, so that a failing case shrinks; when the list ends, every choice is the first.
#[derive(Clone, Debug)]
pub struct Dice {
    rolls: Vec<u16>,
    next: usize,
}

impl Dice {
    /// Dice that will roll these.
    pub fn new(rolls: Vec<u16>) -> Dice {
        Dice { rolls, next: 0 }
    }

    /// A number below `sides`.
    pub fn roll(&mut self, sides: usize) -> usize {
        let roll = self.rolls.get(self.next).copied().unwrap_or(0);
        self.next += 1;
        usize::from(roll) % sides.max(1)
    }

    /// True one time in `of`.
    pub fn one_in(&mut self, of: usize) -> bool {
        self.roll(of) == of - 1
    }

    /// One of a list.
    pub fn pick<'a>(&mut self, of: &[&'a str]) -> &'a str {
        of[self.roll(of.len())]
    }

    /// A chance between 0.02 and 0.95.
    pub fn chance(&mut self) -> f64 {
        0.02 + 0.93 * self.roll(1000) as f64 / 1000.0
    }
}
