//! Combining sources of error: JCGM 100:2008 (the guide to the expression of uncertainty).

use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

/// The probability within two standard deviations of a normal distribution, 95.45 %.
pub const WITHIN_TWO: f64 = 0.954_499_736_103_642;
/// The probability within three standard deviations of a normal distribution, 99.73 %.
pub const WITHIN_THREE: f64 = 0.997_300_203_936_740;

/// Degrees of freedom from which on Student's factor comes from a series instead of the library.
///
/// The library inverts the distribution by steps without a bound on their number: right to 3e-13 for
/// whole numbers below this one, wrong in the seventh digit from some 30,000 on, and without end
/// near 1e7. The series is right to 4e-13 from here on (`tests/data/student.csv`).
const SERIES_FROM: f64 = 500.0;

/// A standard uncertainty with the degrees of freedom behind it.
///
/// One source of error already carries its sensitivity: what it does to the result.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uncertainty {
    /// One standard deviation.
    pub u: f64,
    /// Degrees of freedom; infinite where it does not come from a sample.
    pub nu: f64,
}

impl Uncertainty {
    /// Limits of error with nothing known of what lies between them: a rectangle, u = a / sqrt(3)
    /// (JCGM 100:2008, 4.3.7).
    pub fn rectangular(half_width: f64) -> Self {
        Self { u: half_width / 3.0_f64.sqrt(), nu: f64::INFINITY }
    }

    /// Independent sources together: root sum of squares, with the effective degrees of freedom of
    /// the Welch-Satterthwaite formula (JCGM 100:2008, 5.1.2 and G.4.1).
    pub fn combined(sources: impl IntoIterator<Item = Self>) -> Self {
        let (squares, fourths) = sources.into_iter().fold((0.0, 0.0), |(squares, fourths), one| {
            (squares + one.u * one.u, fourths + one.u.powi(4) / one.nu)
        });
        // Nothing that is uncertain at all has nothing that could be known too little.
        let nu = if fourths > 0.0 { squares * squares / fourths } else { f64::INFINITY };
        Self { u: squares.sqrt(), nu }
    }

    /// The half-width of the interval that holds the value with this probability. Degrees of
    /// freedom that are no whole number are truncated, as G.4.1 has it.
    pub fn expanded(self, probability: f64) -> f64 {
        self.u * coverage_factor(probability, truncated(self.nu))
    }

    /// What counts as the standard uncertainty where guard bands are two of it: as many degrees of
    /// freedom as there are, u is widened until twice it holds 95.45 % (NIST TN 1297, B.1, where the
    /// factor for infinitely many is 2.000).
    pub fn effective(self) -> f64 {
        self.expanded(WITHIN_TWO) / 2.0
    }

    /// The limit that counts in a worst case: it holds 99.73 %, three of u for many degrees of
    /// freedom.
    pub fn limit(self) -> f64 {
        self.expanded(WITHIN_THREE)
    }
}

/// Student's factor: how many u to each side hold this probability. Below `SERIES_FROM` degrees of
/// freedom that are no whole number are truncated.
pub fn coverage_factor(probability: f64, nu: f64) -> f64 {
    let upper = f64::midpoint(1.0, probability);
    if nu < SERIES_FROM
        && let Ok(student) = StudentsT::new(0.0, 1.0, truncated(nu))
    {
        return student.inverse_cdf(upper);
    }
    // Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.5: Student's quantile by that
    // of the normal distribution and powers of 1/nu.
    let z = Normal::standard().inverse_cdf(upper);
    let zz = z * z;
    let terms = [
        (zz + 1.0) / 4.0,
        ((5.0 * zz + 16.0) * zz + 3.0) / 96.0,
        (((3.0 * zz + 19.0) * zz + 17.0) * zz - 15.0) / 384.0,
        ((((79.0 * zz + 776.0) * zz + 1482.0) * zz - 1920.0) * zz - 945.0) / 92_160.0,
    ];
    z * (1.0 + terms.into_iter().rev().fold(0.0, |sum, term| (sum + term) / nu))
}

/// The whole number of degrees of freedom, one at least. What stands a rounding error below a whole
/// number is that number: the Welch-Satterthwaite formula gives a single source's own back so.
fn truncated(nu: f64) -> f64 {
    (nu * (1.0 + 1e-9)).floor().max(1.0)
}
