//! The one rounding rule: once, at the end, half to even (IEEE 754-2019, 4.3.1; ISO 80000-1:2009,
//! Annex B, rule A, from memory).

/// `numerator / denominator` rounded to the nearest whole number, a tie to the even one.
/// The denominator must be above zero.
pub(crate) const fn divide_half_even(numerator: i128, denominator: i128) -> i128 {
    let floor = numerator.div_euclid(denominator);
    let twice_rest = 2 * numerator.rem_euclid(denominator);
    if twice_rest > denominator || (twice_rest == denominator && floor % 2 != 0) {
        floor + 1
    } else {
        floor
    }
}

/// The same for what fits into 64 bits, which processors divide many times as fast.
pub(crate) const fn divide_half_even_small(numerator: i64, denominator: i64) -> i64 {
    let (floor, rest) = (numerator.div_euclid(denominator), numerator.rem_euclid(denominator));
    let other = denominator - rest;
    if rest > other || (rest == other && floor % 2 != 0) { floor + 1 } else { floor }
}

#[cfg(test)]
mod tests {
    use super::{divide_half_even, divide_half_even_small};

    #[test]
    fn ties_go_to_the_even_neighbour_on_both_sides_of_zero() {
        let halves = [(-5, -2), (-3, -2), (-1, 0), (1, 0), (3, 2), (5, 2), (7, 4)];
        for (numerator, rounded) in halves {
            assert_eq!(divide_half_even(numerator, 2), rounded, "{numerator}/2");
            let small = divide_half_even_small(numerator as i64, 2);
            assert_eq!(i128::from(small), rounded, "{numerator}/2");
        }
    }

    /// Compares with a search for the nearest whole number, over every small quotient.
    #[test]
    fn every_small_quotient_is_the_nearest_whole_number() {
        for denominator in 1..=12_i128 {
            for numerator in -60..=60_i128 {
                let rounded = divide_half_even(numerator, denominator);
                let miss = (rounded * denominator - numerator).abs();
                assert!(2 * miss <= denominator, "{numerator}/{denominator} gave {rounded}");
                let small = divide_half_even_small(numerator as i64, denominator as i64);
                assert_eq!(i128::from(small), rounded, "{numerator}/{denominator}");
            }
        }
    }
}
