//! Sums of dimensions with their errors: collecting, worst case and standard uncertainty.
//!
//! A form is a sum of whole multiples of dimensions plus at most a few ratio products. A dimension
//! of one piece that occurs twice is collected first, so only true differences carry a tolerance.
//!
//! All verdict arithmetic is exact. Errors are carried in *micro-nanometres* (10^-6 nm), because a
//! finger ratio is a whole number of millionths.

use crate::model::entry::Accuracy;
use crate::model::length::{Length, Ratio};

/// Which piece of metal, or the job's own readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Piece<'a> {
    /// A reading taken on the job.
    Job,
    /// The `nth` piece of a part number in a slot; `cut` once it was machined.
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

/// One dimension of one piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Item<'a> {
    /// The piece.
    pub piece: Piece<'a>,
    /// The kind's key, or `job`.
    pub kind: &'static str,
    /// The dimension's key.
    pub dim: &'static str,
    /// Its value.
    pub value: Length,
    /// How closely it is known.
    pub known: Accuracy,
}

impl Item<'_> {
    fn same(&self, other: &Self) -> bool {
        self.piece == other.piece && self.dim == other.dim
    }
}

/// A finger ratio with its piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RatioItem<'a> {
    /// The plate.
    pub piece: Piece<'a>,
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

    /// What the product adds.
    pub fn value(&self) -> Length {
        let product = self.ratio.value.times(self.gap_value());
        if self.sign < 0 { -product } else { product }
    }
}

/// A sum of dimensions.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Form<'a> {
    /// Whole multiples of dimensions; no dimension of a piece occurs twice, none with zero.
    pub linear: Vec<(Item<'a>, i64)>,
    /// Ratio products; no ratio of a piece occurs twice.
    pub products: Vec<Product<'a>>,
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

impl Spread {
    /// The standard uncertainty in nanometres.
    #[allow(clippy::cast_precision_loss, reason = "u is a float by design; verdicts do not use it")]
    pub fn u(&self) -> f64 {
        (self.three_u_squared as f64 / 3.0).sqrt() / MICRO as f64
    }

    /// The worst case, rounded up to the nanometre.
    pub fn worst_case_length(&self) -> Length {
        let nm = (self.worst_case + MICRO - 1) / MICRO;
        Length::from_nm(i64::try_from(nm).unwrap_or(i64::MAX))
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

/// One independent source of error with its effect.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effect<'a> {
    /// The piece.
    pub piece: Piece<'a>,
    /// The kind's key, or `job`.
    pub kind: &'static str,
    /// The dimension's key.
    pub dim: &'static str,
    /// The signed effect of one base unit of it (a nanometre, a millionth of a ratio), in
    /// micro-nanometres.
    pub per_unit: i128,
    /// Its value, in its base unit.
    pub value: i64,
    /// How closely it is known, in its base unit.
    pub known: Accuracy,
}

impl Effect<'_> {
    /// The effect of the whole tolerance, in micro-nanometres.
    pub fn at_limit(&self) -> i128 {
        self.per_unit * i128::from(self.known.tol)
    }

    /// The effect at the end of the rectangle of its u, in micro-nanometres.
    pub fn at_wide(&self) -> i128 {
        self.per_unit * i128::from(self.known.wide)
    }
}

fn value_of(sum: &[(Item<'_>, i64)]) -> Length {
    Length::from_nm(sum.iter().map(|(item, times)| item.value.nm() * times).sum())
}

fn collect<'a>(into: &mut Vec<(Item<'a>, i64)>, item: Item<'a>, times: i64) {
    match into.iter_mut().find(|(known, _)| known.same(&item)) {
        Some((_, known)) => *known += times,
        None => into.push((item, times)),
    }
    into.retain(|(_, times)| *times != 0);
}

impl<'a> Form<'a> {
    /// Adds `times` a dimension.
    pub fn add(&mut self, item: Item<'a>, times: i64) {
        collect(&mut self.linear, item, times);
    }

    /// Adds `times` (plus or minus one) another form.
    pub fn add_form(&mut self, other: &Form<'a>, times: i64) {
        for (item, own) in &other.linear {
            self.add(*item, own * times);
        }
        for product in &other.products {
            self.add_product(product, times);
        }
    }

    fn add_product(&mut self, product: &Product<'a>, times: i64) {
        let same = |known: &Product<'_>| known.ratio.piece == product.ratio.piece;
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

    /// The sum, exact but for the once-rounded products.
    pub fn value(&self) -> Length {
        value_of(&self.linear) + self.products.iter().map(Product::value).sum()
    }

    /// Every independent error with its effect. A dimension that enters both directly
    /// and through the ratio (a flywheel's step) counts once, with its full effect.
    pub fn effects(&self) -> Vec<Effect<'a>> {
        let mut items: Vec<(Item<'a>, i128)> =
            self.linear.iter().map(|(item, times)| (*item, i128::from(*times) * MICRO)).collect();
        for product in &self.products {
            let ratio = i128::from(product.sign) * i128::from(product.ratio.value.millionths());
            for (item, times) in &product.gap {
                let effect = ratio * i128::from(*times);
                match items.iter_mut().find(|(known, _)| known.same(item)) {
                    Some((_, known)) => *known += effect,
                    None => items.push((*item, effect)),
                }
            }
        }
        let mut effects: Vec<Effect<'a>> = items
            .into_iter()
            .filter(|(_, micro)| *micro != 0)
            .map(|(item, micro)| Effect {
                piece: item.piece,
                kind: item.kind,
                dim: item.dim,
                per_unit: micro,
                value: item.value.nm(),
                known: item.known,
            })
            .collect();
        effects.extend(self.products.iter().map(|product| Effect {
            piece: product.ratio.piece,
            kind: "pressure_plate",
            dim: "finger_ratio",
            per_unit: i128::from(product.sign) * i128::from(product.gap_value().nm()),
            value: product.ratio.value.millionths(),
            known: product.ratio.known,
        }));
        effects
    }

    /// The error limits. The worst case holds the ratio product's second-order part, dr * dgap.
    pub fn spread(&self) -> Spread {
        let mut spread = Spread::default();
        for effect in self.effects() {
            spread.worst_case += effect.at_limit().abs();
            spread.three_u_squared += effect.at_wide() * effect.at_wide();
            // Even an effect that happens to be zero was computed with what nobody stated.
            spread.assumed |= effect.known.assumed;
        }
        for product in &self.products {
            let gap: i64 = product.gap.iter().map(|(item, c)| c.abs() * item.known.tol).sum();
            spread.worst_case += i128::from(gap) * i128::from(product.ratio.known.tol);
        }
        spread
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn item(id: &'static str, dim: &'static str, thou: i64, tol: i64) -> Item<'static> {
        Item {
            piece: Piece::Part { slot: 0, id, nth: 0, cut: false },
            kind: "test",
            dim,
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
            piece: Piece::Job,
            value: Ratio::from_millionths(3_500_000),
            known: Accuracy::stated(0),
        };
        let product = Product { sign: -1, ratio, gap: vec![(step, -1)] };
        form.add_form(&Form { linear: vec![], products: vec![product] }, 1);
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
