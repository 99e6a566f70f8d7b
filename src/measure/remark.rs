//! One thing to look at in the library: what it is about, and what was found.

use crate::measure::lessons::Apart;
use crate::model::kinds::Quantity;
use crate::model::length::Length;
use crate::model::money::Cents;
use crate::model::usual::Usual;

/// What a remark is about; the gravest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Topic {
    /// A value that cannot be.
    Impossible,
    /// Two ways to the same length of a job cannot both be right.
    Contradiction,
    /// A value that can hardly be.
    Suspicious,
    /// A value outside what is usual, which somebody meant or which is from before that was asked.
    Unusual,
    /// A part number that differs from another one only by how it is typed.
    AlikeIds,
    /// A measured piece in hand changes what an answer says of its part number.
    InHand,
    /// What is set aside cannot be as it is, or is for a job that is done.
    SetAside,
    /// New pieces measure something else than their maker states.
    BeyondTolerance,
    /// A piece that does not look like its sisters.
    StandsApart,
    /// A dimension without which a part stands in no stack.
    Lacks,
    /// An instrument whose limit of error is not known.
    NoLimit,
    /// A dimension of the sum without a tolerance.
    NoTolerance,
    /// A name of a pattern that no other part has.
    LoneFace,
    /// A mating face of which nothing is known.
    UnknownFace,
    /// No price.
    NoPrice,
}

impl Topic {
    /// As it is written for programs.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Impossible => "impossible",
            Self::Contradiction => "contradiction",
            Self::Suspicious => "suspicious",
            Self::Unusual => "unusual",
            Self::AlikeIds => "alike_ids",
            Self::InHand => "piece_in_hand",
            Self::SetAside => "set_aside",
            Self::BeyondTolerance => "beyond_tolerance",
            Self::StandsApart => "stands_apart",
            Self::Lacks => "lacks_dimension",
            Self::NoLimit => "no_limit_of_error",
            Self::NoTolerance => "no_tolerance",
            Self::LoneFace => "lone_face_name",
            Self::UnknownFace => "unknown_face",
            Self::NoPrice => "no_price",
        }
    }
}

/// One thing to look at.
#[derive(Debug, Clone, PartialEq)]
pub struct Remark {
    /// What it is about.
    pub topic: Topic,
    /// The kind of part, `job` or `instrument`.
    pub kind: &'static str,
    /// The part number, piece, job or instrument.
    pub id: String,
    /// The columns that it concerns.
    pub columns: Vec<&'static str>,
    /// What was found, beyond that.
    pub found: Found,
}

/// What was found.
#[derive(Debug, Clone, PartialEq)]
pub enum Found {
    /// Nothing is there.
    Nothing,
    /// In words.
    Words(String),
    /// The mean of so many new pieces against what is listed.
    Mean {
        /// What both count in.
        quantity: Quantity,
        /// How many pieces.
        pieces: usize,
        /// Their mean.
        mean: i64,
        /// The listed value.
        listed: i64,
        /// Its tolerance.
        tol: i64,
    },
    /// A piece that stands apart.
    Apart(Quantity, Apart),
    /// A bearing's travel, and what a window takes at the least where nobody set one.
    Travel(Length, Length),
    /// The clamped thickness, and what free thickness and cushion make of it.
    Clamped(Length, Length),
    /// A value, and between what half of its kind's lie: it would be there in the other unit.
    OtherUnit(Length, (Length, Length)),
    /// A length, and between what it usually lies.
    Unusual(Length, Usual),
    /// A tolerance, and how wide they usually are at most.
    WideTolerance(Length, Length),
    /// A price, and between what half of its kind's lie.
    Price(Cents, (Cents, Cents)),
    /// An instrument was read at a length beyond its ranges.
    Beyond(Length),
    /// Two routes to one length of a job, and how far they are apart.
    Routes {
        /// Which length.
        length: &'static str,
        /// The one route.
        first: &'static str,
        /// The other one.
        second: &'static str,
        /// The distance.
        apart: Length,
    },
}
