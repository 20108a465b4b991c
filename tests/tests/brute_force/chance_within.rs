//! How sure a fit is that is inside at both extremes and not proven, told to SQL as a function
//! `graded(low, high, variance, doubt)`: 2 for probable in, 3 for not proven, 9 for improbable.
//!
//! Lengths in half nanometres about the middle of the clearance: the window's ends `low` and `high`,
//! already narrowed by what the parts' forms take; the square of the expanded uncertainty, whose half
//! is a standard deviation; the range `doubt` within which an unmeasured size is anywhere. The normal
//! distribution function is the rational approximation of J. F. Hart, Computer Approximations (1968),
//! no. 5666, as given by G. West, Better approximations to cumulative normal functions (2005), good to
//! 15 digits (constants from memory; checked below against published values of the function). It owes
//! nothing to the server's own.

/// The grade, as the SQL function has it.
pub(crate) fn graded(low: i64, high: i64, variance: i64, doubt: i64) -> i64 {
    let chance = chance(low as f64, high as f64, (variance as f64).sqrt(), doubt as f64);
    if chance >= 0.95 {
        2
    } else if chance <= 0.05 {
        9
    } else {
        3
    }
}

fn chance(low: f64, high: f64, sigma: f64, doubt: f64) -> f64 {
    if doubt == 0.0 {
        return normal(high / sigma) - normal(low / sigma);
    }
    // The mean of the normal's probability over the range: differences of its integral.
    let integral = |x: f64| {
        let z = x / sigma;
        let density = (-z * z / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt();
        sigma * (z * normal(z) + density)
    };
    let within = |end: f64| integral(end + doubt) - integral(end - doubt);
    (within(high) - within(low)) / (2.0 * doubt)
}

const UPPER: [f64; 7] = [
    3.52624965998911e-2,
    0.700383064443688,
    6.37396220353165,
    33.912866078383,
    112.079291497871,
    221.213596169931,
    220.206867912376,
];
const LOWER: [f64; 8] = [
    8.83883476483184e-2,
    1.75566716318264,
    16.064177579207,
    86.7807322029461,
    296.564248779674,
    637.333633378831,
    793.826512519948,
    440.413735824752,
];

fn normal(z: f64) -> f64 {
    let x = z.abs();
    let polynomial = |factors: &[f64]| factors.iter().fold(0.0, |sum, factor| sum * x + factor);
    let bell = (-x * x / 2.0).exp();
    let tail = if x > 37.0 {
        0.0
    } else if x < 7.07106781186547 {
        bell * polynomial(&UPPER) / polynomial(&LOWER)
    } else {
        let fraction = [4.0, 3.0, 2.0, 1.0].iter().fold(x + 0.65, |below, above| x + above / below);
        bell / fraction / 2.506628274631
    };
    if z > 0.0 { 1.0 - tail } else { tail }
}

/// The same for PostgreSQL.
pub(crate) const POSTGRES_FUNCTIONS: &str = "
CREATE OR REPLACE FUNCTION normal(z double precision) RETURNS double precision
LANGUAGE plpgsql IMMUTABLE AS $$
DECLARE
    x double precision := abs(z);
    tail double precision := 0;
BEGIN
    IF x < 7.07106781186547 THEN
        tail := exp(-x * x / 2)
            * ((((((3.52624965998911e-2 * x + 0.700383064443688) * x + 6.37396220353165) * x
                + 33.912866078383) * x + 112.079291497871) * x + 221.213596169931) * x
                + 220.206867912376)
            / (((((((8.83883476483184e-2 * x + 1.75566716318264) * x + 16.064177579207) * x
                + 86.7807322029461) * x + 296.564248779674) * x + 637.333633378831) * x
                + 793.826512519948) * x + 440.413735824752);
    ELSIF x <= 37 THEN
        tail := exp(-x * x / 2) / (x + 1 / (x + 2 / (x + 3 / (x + 4 / (x + 0.65)))))
            / 2.506628274631;
    END IF;
    RETURN CASE WHEN z > 0 THEN 1 - tail ELSE tail END;
END $$;
CREATE OR REPLACE FUNCTION normal_integral(x double precision, sigma double precision)
RETURNS double precision LANGUAGE sql IMMUTABLE AS $$
    SELECT sigma * (x / sigma * normal(x / sigma) +
        CASE WHEN abs(x / sigma) > 37 THEN 0
        ELSE exp(-(x / sigma) * (x / sigma) / 2) / sqrt(2 * pi()) END) $$;
CREATE OR REPLACE FUNCTION graded(low bigint, high bigint, variance bigint, doubt bigint)
RETURNS bigint LANGUAGE plpgsql IMMUTABLE AS $$
DECLARE
    sigma double precision := sqrt(variance::double precision);
    chance double precision;
BEGIN
    IF doubt = 0 THEN
        chance := normal(high / sigma) - normal(low / sigma);
    ELSE
        chance := (normal_integral(high + doubt, sigma) - normal_integral(high - doubt, sigma)
            - normal_integral(low + doubt, sigma) + normal_integral(low - doubt, sigma))
            / (2.0 * doubt);
    END IF;
    RETURN CASE WHEN chance >= 0.95 THEN 2 WHEN chance <= 0.05 THEN 9 ELSE 3 END;
END $$";

/// Published values: M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, Table 26.1.
#[test]
fn the_normal_distribution_has_its_published_values() {
    for (z, value) in
        [(0.0, 0.5), (1.0, 0.841344746068543), (2.0, 0.977249868051821), (-3.0, 0.001349898031630)]
    {
        assert!((normal(z) - value).abs() < 1e-14, "{z}: {} is not {value}", normal(z));
    }
    // 1.645 standard deviations on one side: 95 %; a doubt that is wide against it: its share.
    assert_eq!((graded(-164, 100_000, 10_000, 0), graded(-165, 100_000, 10_000, 0)), (3, 2));
    assert_eq!((graded(-100_000, 50, 1, 1_000), graded(-100_000, -905, 1, 1_000)), (3, 9));
}
