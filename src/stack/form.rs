//! Sums of dimensions with their errors: collecting, worst case and standard uncertainty.
//!
//! A form is a sum of whole multiples of dimensions plus at most a few ratio products. A dimension
//! of one part that occurs twice is collected first, so only true differences carry a tolerance, and
//! what cancels need not be known.
//!
//! All verdict arithmetic is exact. Errors are carried in *micro-nanometres* (10^-6 nm), because a
//! finger ratio is a whole number of millionths.

use crate::model::entry::Accuracy;
use crate::model::length::{Length, Ratio};

/// Whose dimension enters a sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Source<'a> {
    /// The job: a reading taken on it, or the loss of its worn facings.
    Job,
    /// The part "as on the bench" in a slot, of which no dimension is known.
    Bench {
        /// The slot's index.
        slot: usize,
    },
    /// The `nth` part of a number in a slot; `cut` once it was machined.
    Part {
        /// The slot's index.
        slot: usize,
        /// The part number.
        id: &'a str,
        /// Which of several equal ones.
        nth: usize,
        /// Machined, so that its thickness is another dimension than before.
        cut: bool,
    },
}

/// The name of one dimension in a sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Dim<'a> {
    /// Whose it is.
    pub source: Source<'a>,
    /// The kind's key, or `job`.
    pub kind: &'static str,
    /// The dimension's key.
    pub key: &'static str,
}

/// A dimension whose value is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Item<'a> {
    /// Which one.
    pub dim: Dim<'a>,
    /// Its value.
    pub value: Length,
    /// How closely it is known.
    pub known: Accuracy,
}

/// A dimension as it goes into a sum: nobody has to know it if it cancels there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Summand<'a> {
    /// Known.
    Known(Item<'a>),
    /// Not known.
    Unknown(Dim<'a>),
}

/// A finger ratio and whose it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RatioItem<'a> {
    /// The plate.
    pub source: Source<'a>,
    /// Its value.
    pub value: Ratio,
    /// How closely it is known; assumed where the ratio itself stands in for a missing one.
    pub known: Accuracy,
}

/// `sign` times ratio times the sum of `gap`, rounded once to the nanometre.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Product<'a> {
    /// Plus or minus one.
    pub sign: i64,
    /// The ratio.
    pub ratio: RatioItem<'a>,
    /// The difference of gaps, as a collected sum.
    pub gap: Vec<(Item<'a>, i64)>,
}

impl Product<'_> {
    /// The difference of gaps.
    pub fn gap_value(&self) -> Length {
        value_of(&self.gap)
    }

    /// How large the difference of gaps is, and how closely it is known.
    pub(crate) fn gap_size(&self) -> GapSize {
        GapSize {
            value: self.gap_value().nm(),
            tol: self.gap.iter().map(|(item, times)| times.abs() * item.known.tol).sum(),
            assumed: self.gap.iter().any(|(item, _)| item.known.assumed),
        }
    }

    /// What the product adds.
    pub fn value(&self) -> Length {
        let product = self.ratio.value.times(self.gap_value());
        if self.sign < 0 { -product } else { product }
    }
}

/// A sum of dimensions.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Form<'a> {
    /// Whole multiples of dimensions; no dimension occurs twice, none with zero.
    pub linear: Vec<(Item<'a>, i64)>,
    /// Ratio products; no plate's ratio occurs twice.
    pub products: Vec<Product<'a>>,
    /// Whole multiples of dimensions that nobody knows; empty once the sum has a value.
    pub unknown: Vec<(Dim<'a>, i64)>,
}

/// The error limits of a form, exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Spread {
    /// Every tolerance at its limit, in micro-nanometres.
    pub worst_case: i128,
    /// Three times the variance, in square micro-nanometres: a rectangular distribution of
    /// half-width w has u^2 = w^2 / 3 (JCGM 100:2008, 4.3.7), so this is the sum of (c w)^2.
    pub three_u_squared: i128,
    /// Whether some tolerance that counts was assumed.
    pub assumed: bool,
}

/// Micro-nanometres in one nanometre.
pub const MICRO: i128 = Ratio::ONE as i128;

/// How large a difference of gaps is, and how closely it is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct GapSize {
    /// nm
    pub(crate) value: i64,
    /// All its tolerances together, nm.
    pub(crate) tol: i64,
    /// Whether one of them was assumed.
    pub(crate) assumed: bool,
}

impl GapSize {
    /// Whether there is no difference, and that for certain.
    pub(crate) const fn is_nothing(&self) -> bool {
        self.value == 0 && self.tol == 0
    }
}

impl Spread {
    /// What a dimension's error brings in: its effect is in micro-nanometres a base unit.
    pub(crate) fn of_effect(per_unit: i128, known: &Accuracy) -> Self {
        let wide = per_unit * i128::from(known.wide);
        Self {
            worst_case: per_unit.abs() * i128::from(known.tol),
            three_u_squared: wide * wide,
            assumed: known.assumed,
        }
    }

    /// What a finger ratio's own error brings in beside a difference of gaps. The worst case holds the
    /// second-order part, dr * dgap, where what cancels in the first order still counts.
    pub(crate) fn of_ratio(known: &Accuracy, gap: &GapSize) -> Self {
        let (tol, wide) = (i128::from(known.tol), i128::from(known.wide));
        Self {
            worst_case: tol * (i128::from(gap.value.abs()) + i128::from(gap.tol)),
            three_u_squared: (i128::from(gap.value) * wide).pow(2),
            assumed: known.assumed || (known.tol != 0 && gap.assumed),
        }
    }

    /// The limits of two sums together that share no dimension.
    #[must_use]
    pub(crate) fn plus(&self, other: &Self) -> Self {
        Self {
            worst_case: self.worst_case + other.worst_case,
            three_u_squared: self.three_u_squared + other.three_u_squared,
            assumed: self.assumed || other.assumed,
        }
    }

    /// The standard uncertainty in nanometres.
    #[allow(clippy::cast_precision_loss, reason = "u is a float by design; verdicts do not use it")]
    pub fn u(&self) -> f64 {
        (self.three_u_squared as f64 / 3.0).sqrt() / MICRO as f64
    }

    /// The worst case, rounded up to the nanometre.
    pub fn worst_case_length(&self) -> Length {
        Length::from_wide((self.worst_case + MICRO - 1) / MICRO)
    }

    /// Whether `room` is at least the worst case.
    pub fn worst_case_within(&self, room: Length) -> bool {
        i128::from(room.nm()) * MICRO >= self.worst_case
    }

    /// Whether a distance is more than every tolerance together could explain.
    pub fn is_beyond_worst_case(&self, distance: Length) -> bool {
        i128::from(distance.nm()) * MICRO > self.worst_case
    }

    /// Whether a distance is at least twice the standard uncertainty: d^2 >= 4 u^2, exactly.
    pub fn two_u_within(&self, distance: Length) -> bool {
        let d = i128::from(distance.nm()) * MICRO;
        d >= 0 && 3 * d * d >= 4 * self.three_u_squared
    }

    /// Whether a distance is at most twice the standard uncertainty, exactly.
    pub fn is_within_two_u(&self, distance: Length) -> bool {
        let d = i128::from(distance.nm()) * MICRO;
        3 * d * d <= 4 * self.three_u_squared
    }
}

/// One independent error with its effect.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effect<'a> {
    /// The dimension that it is an error of.
    pub dim: Dim<'a>,
    /// The signed effect of one base unit of it (a nanometre, a millionth of a ratio), in
    /// micro-nanometres.
    pub per_unit: i128,
    /// Its value, in its base unit.
    pub value: i64,
    /// How closely it is known, in its base unit.
    pub known: Accuracy,
}

impl Effect<'_> {
    /// The effect at the end of the rectangle of its u, in micro-nanometres.
    pub fn at_wide(&self) -> i128 {
        self.per_unit * i128::from(self.known.wide)
    }
}

fn value_of(sum: &[(Item<'_>, i64)]) -> Length {
    Length::from_nm(sum.iter().map(|(item, times)| item.value.nm() * times).sum())
}

fn collect<'a>(into: &mut Vec<(Item<'a>, i64)>, item: Item<'a>, times: i64) {
    match into.iter().position(|(known, _)| known.dim == item.dim) {
        Some(at) => {
            into[at].1 += times;
            if into[at].1 == 0 {
                into.remove(at);
            }
        }
        None => into.push((item, times)),
    }
}

impl<'a> Form<'a> {
    /// Adds `times` (not zero) a dimension.
    pub fn add(&mut self, item: Item<'a>, times: i64) {
        collect(&mut self.linear, item, times);
    }

    /// Adds `times` (not zero) a dimension that may be unknown.
    pub fn add_term(&mut self, term: Summand<'a>, times: i64) {
        match term {
            Summand::Known(item) => self.add(item, times),
            Summand::Unknown(dim) => match self.unknown.iter().position(|(known, _)| *known == dim)
            {
                Some(at) => {
                    self.unknown[at].1 += times;
                    if self.unknown[at].1 == 0 {
                        self.unknown.remove(at);
                    }
                }
                None => self.unknown.push((dim, times)),
            },
        }
    }

    /// Adds `times` (plus or minus one) another form.
    pub fn add_form(&mut self, other: &Form<'a>, times: i64) {
        for (item, own) in &other.linear {
            self.add(*item, own * times);
        }
        for (dim, own) in &other.unknown {
            self.add_term(Summand::Unknown(*dim), own * times);
        }
        for product in &other.products {
            self.add_product(product, times);
        }
    }

    /// Adds `times` (plus or minus one) a ratio product.
    pub fn add_product(&mut self, product: &Product<'a>, times: i64) {
        let same = |known: &Product<'_>| known.ratio.source == product.ratio.source;
        if let Some(known) = self.products.iter_mut().find(|known| same(known)) {
            let turn = product.sign * times * known.sign;
            for (item, own) in &product.gap {
                collect(&mut known.gap, *item, own * turn);
            }
        } else {
            let sign = product.sign * times;
            self.products.push(Product { sign, ..product.clone() });
        }
        self.products.retain(|product| !product.gap.is_empty());
    }

    /// Less another form.
    #[must_use]
    pub fn less(mut self, other: &Form<'a>) -> Self {
        self.add_form(other, -1);
        self
    }

    /// The sum, exact but for the once-rounded products.
    pub fn value(&self) -> Length {
        value_of(&self.linear) + self.products.iter().map(Product::value).sum()
    }

    /// Every dimension with its whole effect. One that enters both directly and through the ratio (a
    /// flywheel's step) counts once.
    fn item_effects(&self) -> Vec<Effect<'a>> {
        let mut items: Vec<(Item<'a>, i128)> =
            self.linear.iter().map(|(item, times)| (*item, i128::from(*times) * MICRO)).collect();
        for product in &self.products {
            let ratio = i128::from(product.sign) * i128::from(product.ratio.value.millionths());
            for (item, times) in &product.gap {
                let effect = ratio * i128::from(*times);
                match items.iter_mut().find(|(known, _)| known.dim == item.dim) {
                    Some((_, known)) => *known += effect,
                    None => items.push((*item, effect)),
                }
            }
        }
        let effect = |(item, micro): (Item<'a>, i128)| Effect {
            dim: item.dim,
            per_unit: micro,
            value: item.value.nm(),
            known: item.known,
        };
        items.into_iter().filter(|(_, micro)| *micro != 0).map(effect).collect()
    }

    /// Every independent error with its effect.
    pub fn effects(&self) -> Vec<Effect<'a>> {
        let mut effects = self.item_effects();
        effects.extend(self.products.iter().map(|product| Effect {
            dim: Dim { source: product.ratio.source, kind: "pressure_plate", key: "finger_ratio" },
            per_unit: i128::from(product.sign) * i128::from(product.gap_value().nm()),
            value: product.ratio.value.millionths(),
            known: product.ratio.known,
        }));
        effects
    }

    /// The error limits.
    pub fn spread(&self) -> Spread {
        let mut spread = Spread::default();
        for effect in self.item_effects() {
            spread = spread.plus(&Spread::of_effect(effect.per_unit, &effect.known));
        }
        for product in &self.products {
            spread = spread.plus(&Spread::of_ratio(&product.ratio.known, &product.gap_size()));
        }
        spread
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn item(id: &'static str, dim: &'static str, thou: i64, tol: i64) -> Item<'static> {
        let source = Source::Part { slot: 0, id, nth: 0, cut: false };
        Item {
            dim: Dim { source, kind: "test", key: dim },
            value: Length::from_thou(thou),
            known: Accuracy::stated(Length::from_thou(tol).nm()),
        }
    }

    #[test]
    fn a_dimension_on_both_sides_leaves_the_chain_with_its_tolerance() {
        let mut form = Form::default();
        form.add(item("a", "x", 500, 5), 1);
        form.add(item("b", "x", 200, 3), 1);
        form.add(item("a", "x", 500, 5), -1);
        assert_eq!(form.value(), Length::from_thou(200));
        assert_eq!(form.spread().worst_case_length(), Length::from_thou(3));
    }

    #[test]
    fn a_step_counts_once_with_one_plus_the_ratio() {
        let mut form = Form::default();
        let step = item("f", "cover_step", 10, 2);
        form.add(step, 1);
        let ratio = RatioItem {
            source: Source::Job,
            value: Ratio::from_millionths(3_500_000),
            known: Accuracy::stated(0),
        };
        let product = Product { sign: -1, ratio, gap: vec![(step, -1)] };
        form.add_product(&product, 1);
        assert_eq!(form.value(), Length::from_thou(45));
        assert_eq!(form.spread().worst_case_length(), Length::from_thou(9));
        assert_eq!(form.effects().len(), 2);
    }

    #[test]
    fn what_was_measured_counts_its_limit_in_the_worst_case_and_its_u_in_the_variance() {
        let known = Accuracy { wide: 40, assumed: false, ..Accuracy::assumed(70) };
        let mut form = Form::default();
        form.add(Item { known, ..item("a", "x", 0, 0) }, -2);
        assert_eq!(form.spread().worst_case, 140 * MICRO);
        assert_eq!(form.spread().three_u_squared, 80 * 80 * MICRO * MICRO);
    }

    #[test]
    fn twice_u_is_compared_exactly() {
        let mut form = Form::default();
        form.add(item("a", "x", 0, 3), 1);
        let spread = form.spread();
        // 4 u^2 = 4 * 3^2 / 3 = 12 thou^2, so 2u = 3.4641... thou = 87 987.7 nm.
        assert!(!spread.two_u_within(Length::from_nm(87_987)));
        assert!(spread.two_u_within(Length::from_nm(87_989)));
        assert!(!spread.two_u_within(Length::from_nm(-87_989)));
    }
}
