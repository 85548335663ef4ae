/// What kind of publication a source is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SourceKind {
    /// A published standard or code.
    Standard,
    /// A public agency or research body.
    Agency,
    /// A university or extension service.
    University,
    /// A paper.
    Paper,
    /// A textbook.
    Textbook,
    /// A guideline of a professional society.
    Guideline,
    /// Common practice of the trade, no published source.
    CommonPractice,
    /// Our own judgement.
    Judgement,
}

impl SourceKind {
    pub(crate) const NAMES: [&'static str; 8] = [
        "standard",
        "agency",
        "university",
        "paper",
        "textbook",
        "guideline",
        "common_practice",
        "judgement",
    ];
    pub(crate) const ALL: [SourceKind; 8] = [
        SourceKind::Standard,
        SourceKind::Agency,
        SourceKind::University,
        SourceKind::Paper,
        SourceKind::Textbook,
        SourceKind::Guideline,
        SourceKind::CommonPractice,
        SourceKind::Judgement,
    ];
}

/// Where a rule comes from.
#[derive(Clone, Debug)]
pub struct Source {
    /// Name in rule files.
    pub id: String,
    /// Title.
    pub title: String,
    /// Author or publisher.
    pub by: Option<String>,
    /// Year of publication.
    pub year: Option<i64>,
    /// What kind of publication.
    pub kind: SourceKind,
    /// Whether somebody on this project saw it in print; otherwise it is from memory.
    pub seen_in_print: bool,
    /// Public address.
    pub address: Option<String>,
}

/// How well a number is known: from measured to our own judgement.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Basis {
    /// Measured and published.
    Measured,
    /// An opinion in print.
    PublishedOpinion,
    /// Common practice of the trade, no source.
    CommonPractice,
    /// Our own judgement.
    #[default]
    OurJudgement,
}

impl Basis {
    pub(crate) const NAMES: [&'static str; 4] = ["measured", "published_opinion", "common_practice", "our_judgement"];
    pub(crate) const ALL: [Basis; 4] = [
        Basis::Measured,
        Basis::PublishedOpinion,
        Basis::CommonPractice,
        Basis::OurJudgement,
    ];

    /// The name in rule files.
    pub fn name(self) -> &'static str {
        match self {
            Basis::Measured => "measured",
            Basis::PublishedOpinion => "published_opinion",
            Basis::CommonPractice => "common_practice",
            Basis::OurJudgement => "our_judgement",
        }
    }
}
