//! Reading decimal text exactly: digits and one point, nothing else. Shared by lengths,
//! temperatures and money, so that all three refuse the same things.

/// A decimal number as it was written: `mantissa` / 10^`places`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Number {
    /// All digits, read as one whole number.
    pub(crate) mantissa: i128,
    /// How many of the digits stand behind the point.
    pub(crate) places: u32,
}

/// Why a text is not a plain decimal number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum NumberFault {
    /// A comma: a decimal comma and a thousands comma cannot be told apart.
    Comma,
    /// An exponent such as `1e3`.
    Exponent,
    /// Anything else.
    NotDecimal,
}

/// The most characters a number may have: keeps every mantissa well inside an `i128`.
pub(crate) const NUMBER_CHARACTERS_MAX: usize = 24;

/// Reads an unsigned decimal of at most [`NUMBER_CHARACTERS_MAX`] characters, such as `0.9350` or
/// the shop's `.9350`; `25.` is refused because it looks like an unfinished entry.
pub(crate) fn read_decimal(text: &str) -> Result<Number, NumberFault> {
    if text.contains(',') {
        return Err(NumberFault::Comma);
    }
    let (whole, fraction) = match text.split_once('.') {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (text, None),
    };
    let digits = format!("{whole}{}", fraction.unwrap_or_default());
    let unfinished = fraction.is_some_and(str::is_empty);
    if digits.is_empty() || unfinished || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        let exponent =
            text.starts_with(|c: char| c.is_ascii_digit() || c == '.') && text.contains(['e', 'E']);
        return Err(if exponent { NumberFault::Exponent } else { NumberFault::NotDecimal });
    }
    if digits.len() > NUMBER_CHARACTERS_MAX {
        return Err(NumberFault::NotDecimal);
    }
    let mantissa = digits.parse().map_err(|_| NumberFault::NotDecimal)?;
    Ok(Number { mantissa, places: fraction.map_or(0, str::len) as u32 })
}

/// Splits a leading `+` or `-` off: whether the number is negative, and the rest.
pub(crate) fn split_sign(text: &str) -> (Option<bool>, &str) {
    match (text.strip_prefix('-'), text.strip_prefix('+')) {
        (Some(rest), _) => (Some(true), rest),
        (_, Some(rest)) => (Some(false), rest),
        _ => (None, text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_and_one_point_are_read_exactly() {
        for (text, mantissa, places) in
            [("0.9350", 9350, 4), (".9350", 9350, 4), ("25", 25, 0), ("007.0", 70, 1)]
        {
            assert_eq!(read_decimal(text), Ok(Number { mantissa, places }), "{text}");
        }
    }

    #[test]
    fn everything_else_is_refused_for_its_own_reason() {
        for (text, fault) in [
            ("25,4", NumberFault::Comma),
            ("1e3", NumberFault::Exponent),
            ("1.5E-2", NumberFault::Exponent),
            ("", NumberFault::NotDecimal),
            (".", NumberFault::NotDecimal),
            ("25.", NumberFault::NotDecimal),
            ("1.2.3", NumberFault::NotDecimal),
            ("NaN", NumberFault::NotDecimal),
            ("inf", NumberFault::NotDecimal),
            ("-1", NumberFault::NotDecimal),
            ("1_000", NumberFault::NotDecimal),
            ("١", NumberFault::NotDecimal),
        ] {
            assert_eq!(read_decimal(text), Err(fault), "{text}");
        }
    }
}
