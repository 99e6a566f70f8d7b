//! Sums of dimensions, collected by piece and dimension, with everything that their limits allow.
//!
//! Plain and slow on purpose: a list of terms, and at most a few products of a finger ratio with a
//! difference of gaps. All is whole: nanometres, millionths of a ratio, and their products.

/// Millionths in a whole: ratios are counted in them.
pub(crate) const MICRO: i128 = 1_000_000;

/// Of which piece of metal a dimension is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Who {
    /// A reading of the job, or something else that is the job's own.
    Job,
    /// The part that is there and that nobody named.
    Bench,
    /// No part at all, where one is needed.
    Nobody,
    /// The part at this place of the library.
    Part(u32),
}

/// One dimension of one piece of metal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Dim {
    pub(crate) slot: usize,
    pub(crate) who: Who,
    /// Which of two equal shims: two of one number are two pieces.
    pub(crate) nth: usize,
    /// As it is after machining: another dimension than before.
    pub(crate) machined: bool,
    pub(crate) key: &'static str,
}

/// A value with its limits: nanometres, or millionths for a ratio.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Known {
    pub(crate) value: i128,
    /// The limit half-width, which the worst case counts.
    pub(crate) tol: i128,
    /// The half-width of the rectangle that is as uncertain as the value, which u counts. The same
    /// as `tol` but for what was measured on pieces.
    pub(crate) wide: i128,
    pub(crate) assumed: bool,
}

impl Known {
    pub(crate) const fn exact(value: i128) -> Self {
        Self { value, tol: 0, wide: 0, assumed: false }
    }

    pub(crate) const fn assumed(value: i128, tol: i128) -> Self {
        Self { value, tol, wide: tol, assumed: true }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Term {
    pub(crate) dim: Dim,
    pub(crate) times: i128,
    /// Nothing where nobody knows the value.
    pub(crate) known: Option<Known>,
}

/// Terms of which each dimension stands once, and none that cancelled.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Terms(pub(crate) Vec<Term>);

impl Terms {
    pub(crate) fn put(&mut self, dim: Dim, times: i128, known: Option<Known>) {
        match self.0.iter().position(|term| term.dim == dim) {
            Some(at) if self.0[at].times + times == 0 => {
                self.0.remove(at);
            }
            Some(at) => self.0[at].times += times,
            None if times == 0 => {}
            None => self.0.push(Term { dim, times, known }),
        }
    }

    pub(crate) fn add(&mut self, other: &Self, times: i128) {
        for term in &other.0 {
            self.put(term.dim, term.times * times, term.known);
        }
    }

    /// The value, where all of them are known.
    pub(crate) fn value(&self) -> Option<i128> {
        self.0.iter().map(|term| Some(term.times * term.known?.value)).sum()
    }

    fn unknown(&self) -> impl Iterator<Item = Dim> {
        self.0.iter().filter(|term| term.known.is_none()).map(|term| term.dim)
    }
}

/// A finger ratio times a difference of gaps.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Product {
    /// Whose ratio it is: one plate has one, however often it counts.
    pub(crate) plate: Who,
    pub(crate) ratio: Known,
    pub(crate) gap: Terms,
}

impl Product {
    fn gap(&self) -> i128 {
        self.gap.0.iter().map(|term| term.times * term.known.map_or(0, |known| known.value)).sum()
    }

    fn gap_tol(&self) -> i128 {
        let tol = |term: &Term| term.times.abs() * term.known.map_or(0, |known| known.tol);
        self.gap.0.iter().map(tol).sum()
    }

    /// A difference of gaps that is nothing for certain moves nothing, whatever the ratio.
    fn is_nothing(&self) -> bool {
        let exact = |term: &Term| term.known.is_some_and(|known| known.tol == 0 && known.wide == 0);
        self.gap.0.iter().all(exact) && self.gap() == 0
    }
}

#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Sum {
    pub(crate) plain: Terms,
    pub(crate) products: Vec<Product>,
}

/// A sum worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Total {
    pub(crate) value: i128,
    /// In millionths of a nanometre.
    pub(crate) worst: i128,
    /// Three times u squared, in their square: u = wide / sqrt(3) of a rectangle.
    pub(crate) three_u2: i128,
    pub(crate) assumed: bool,
}

impl Sum {
    pub(crate) fn plus(mut self, other: &Self, times: i128) -> Self {
        self.plain.add(&other.plain, times);
        for product in &other.products {
            let known = self.products.iter().position(|own| own.plate == product.plate);
            let at = known.unwrap_or_else(|| {
                self.products.push(Product { gap: Terms::default(), ..product.clone() });
                self.products.len() - 1
            });
            self.products[at].gap.add(&product.gap, times);
        }
        self.products.retain(|product| !product.is_nothing());
        self
    }

    /// What is left of the chain after collecting and nobody knows.
    pub(crate) fn unknown(&self) -> Vec<Dim> {
        let gaps = self.products.iter().flat_map(|product| product.gap.unknown());
        let mut all: Vec<Dim> = self.plain.unknown().chain(gaps).collect();
        all.sort();
        all.dedup();
        all
    }

    fn is_bent_by_an_uncertain_ratio(&self, dim: Dim) -> bool {
        let uncertain = self.products.iter().filter(|product| product.ratio.tol != 0);
        uncertain.flat_map(|product| &product.gap.0).any(|term| term.dim == dim)
    }

    /// What each dimension's error does to the sum, in millionths: one that enters directly and through
    /// ratios counts once.
    fn dim_effects(&self) -> Vec<(Dim, i128, Known)> {
        let mut effects: Vec<(Dim, i128, Known)> = Vec::new();
        let plain = self.plain.0.iter().map(|term| (term, MICRO));
        let bent = self
            .products
            .iter()
            .flat_map(|product| product.gap.0.iter().map(|term| (term, product.ratio.value)));
        for (term, weight) in plain.chain(bent) {
            let Some(known) = term.known else { continue };
            match effects.iter_mut().find(|(dim, ..)| *dim == term.dim) {
                Some((_, times, _)) => *times += term.times * weight,
                None => effects.push((term.dim, term.times * weight, known)),
            }
        }
        effects
    }

    /// The same with the ratios' errors, as far as errors add up: each with its limits and what one
    /// unit of it does, in millionths.
    pub(crate) fn effects(&self) -> Vec<(Dim, Known, i128)> {
        let ratios = self.products.iter().map(|product| {
            let key = "finger_ratio";
            let dim = Dim { slot: usize::MAX, who: product.plate, nth: 0, machined: false, key };
            // A millionth of a ratio moves the fingers by a millionth of the gap.
            (dim, product.ratio, product.gap())
        });
        let plain = self.dim_effects().into_iter().map(|(dim, times, known)| (dim, known, times));
        plain.chain(ratios).collect()
    }

    /// Value and limits; nothing where some value is not known.
    pub(crate) fn total(&self) -> Option<Total> {
        if !self.unknown().is_empty() {
            return None;
        }
        let effects = self.dim_effects();
        let mut total = Total {
            value: self.plain.0.iter().map(|t| t.times * t.known.map_or(0, |k| k.value)).sum(),
            worst: effects.iter().map(|(_, times, known)| times.abs() * known.tol).sum(),
            three_u2: effects.iter().map(|(_, times, known)| (times * known.wide).pow(2)).sum(),
            // What cancels to first order only still counts in the worst case of its product.
            assumed: effects.iter().any(|(dim, times, known)| {
                known.assumed && (*times != 0 || self.is_bent_by_an_uncertain_ratio(*dim))
            }),
        };
        for product in &self.products {
            let (gap, ratio) = (product.gap(), product.ratio);
            total.value += half_away(gap * ratio.value, MICRO);
            total.worst += gap.abs() * ratio.tol + ratio.tol * product.gap_tol();
            total.three_u2 += (gap * ratio.wide).pow(2);
            total.assumed |= ratio.assumed;
        }
        Some(total)
    }
}

/// A quotient rounded half away from zero; `divisor` is above zero.
pub(crate) const fn half_away(number: i128, divisor: i128) -> i128 {
    let rounded = (number.abs() * 2 + divisor) / (divisor * 2);
    if number < 0 { -rounded } else { rounded }
}

/// A quotient of nothing below zero, rounded up.
pub(crate) const fn up(number: i128, divisor: i128) -> i128 {
    (number + divisor - 1) / divisor
}
