//! Money in whole minor units of an ISO 4217 currency. No floats, no conversion between currencies.

use crate::named::{UnknownName, named_enum};
use crate::units::display::decimal;
use crate::units::number::{NUMBER_CHARACTERS_MAX, read_decimal, split_sign};
use rust_decimal::Decimal;
use std::fmt;

named_enum! {
    /// A currency by its ISO 4217:2015 alphabetic code. The list is the currencies that a shop is
    /// likely to meet, not the whole standard; codes from memory of its list one.
    Currency, "currency" {
        /// UAE dirham.
        Aed = "AED",
        /// Australian dollar.
        Aud = "AUD",
        /// Bahraini dinar.
        Bhd = "BHD",
        /// Brazilian real.
        Brl = "BRL",
        /// Canadian dollar.
        Cad = "CAD",
        /// Swiss franc.
        Chf = "CHF",
        /// Chilean peso.
        Clp = "CLP",
        /// Yuan renminbi.
        Cny = "CNY",
        /// Czech koruna.
        Czk = "CZK",
        /// Danish krone.
        Dkk = "DKK",
        /// Euro.
        Eur = "EUR",
        /// Pound sterling.
        Gbp = "GBP",
        /// Hong Kong dollar.
        Hkd = "HKD",
        /// Forint.
        Huf = "HUF",
        /// New Israeli sheqel.
        Ils = "ILS",
        /// Indian rupee.
        Inr = "INR",
        /// Iceland krona.
        Isk = "ISK",
        /// Jordanian dinar.
        Jod = "JOD",
        /// Yen.
        Jpy = "JPY",
        /// Won.
        Krw = "KRW",
        /// Kuwaiti dinar.
        Kwd = "KWD",
        /// Mexican peso.
        Mxn = "MXN",
        /// Norwegian krone.
        Nok = "NOK",
        /// New Zealand dollar.
        Nzd = "NZD",
        /// Rial Omani.
        Omr = "OMR",
        /// Zloty.
        Pln = "PLN",
        /// Saudi riyal.
        Sar = "SAR",
        /// Swedish krona.
        Sek = "SEK",
        /// Singapore dollar.
        Sgd = "SGD",
        /// Baht.
        Thb = "THB",
        /// Tunisian dinar.
        Tnd = "TND",
        /// Turkish lira.
        Try = "TRY",
        /// New Taiwan dollar.
        Twd = "TWD",
        /// US dollar.
        Usd = "USD",
        /// Dong.
        Vnd = "VND",
        /// Rand.
        Zar = "ZAR",
    }
}

impl Currency {
    /// The decimal places of the minor unit (ISO 4217:2015, list one, column "minor unit"; from
    /// memory).
    ///
    /// ```
    /// use tenths_domain::money::Currency;
    /// assert_eq!(Currency::Usd.minor_unit_places(), 2);
    /// assert_eq!(Currency::Jpy.minor_unit_places(), 0);
    /// assert_eq!(Currency::Kwd.minor_unit_places(), 3);
    /// ```
    pub const fn minor_unit_places(self) -> u32 {
        match self {
            Currency::Clp | Currency::Isk | Currency::Jpy | Currency::Krw | Currency::Vnd => 0,
            Currency::Bhd | Currency::Jod | Currency::Kwd | Currency::Omr | Currency::Tnd => 3,
            _ => 2,
        }
    }
}

/// An amount of money. Below zero it is owed the other way, as a deduction from a deposit is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Money {
    /// Whole minor units, such as cents.
    pub minor: i64,
    /// The currency.
    pub currency: Currency,
}

/// Why a text is not an amount of money, or two amounts cannot be added.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MoneyError {
    /// Not an amount and a currency.
    #[error(
        "{text:?} is not an amount of money; write digits, a decimal point and a currency, such as 180.00 USD"
    )]
    NotMoney {
        /// What was written.
        text: String,
    },
    /// The currency is not known.
    #[error(transparent)]
    Currency(#[from] UnknownName),
    /// More decimal places than the currency has.
    #[error("{text:?} has too many decimal places; {currency} allows {}", currency.minor_unit_places())]
    TooFine {
        /// What was written.
        text: String,
        /// Its currency.
        currency: Currency,
    },
    /// Too large to hold.
    #[error("{text:?} is too large an amount")]
    TooLarge {
        /// What was written.
        text: String,
    },
    /// Two currencies in one sum.
    #[error("{left} and {right} cannot be added: one sum has one currency")]
    TwoCurrencies {
        /// The one currency.
        left: Currency,
        /// The other.
        right: Currency,
    },
}

impl Money {
    /// Reads an amount and its currency, such as `180.00 USD`, `180 USD` or `-12.5 EUR`.
    ///
    /// ```
    /// use tenths_domain::money::{Currency, Money};
    /// let deposit = Money::parse("180.00 USD")?;
    /// assert_eq!(deposit, Money { minor: 18_000, currency: Currency::Usd });
    /// assert_eq!(deposit.to_string(), "180.00 USD");
    /// assert!(Money::parse("180.005 USD").is_err());
    /// # Ok::<(), tenths_domain::money::MoneyError>(())
    /// ```
    pub fn parse(text: &str) -> Result<Money, MoneyError> {
        let not_money = || MoneyError::NotMoney { text: text.chars().take(40).collect() };
        let (amount, code) = text.trim().rsplit_once(' ').ok_or_else(not_money)?;
        Money::parse_amount(amount, code.parse()?)
    }

    /// Reads an amount in a currency that is given apart.
    pub fn parse_amount(text: &str, currency: Currency) -> Result<Money, MoneyError> {
        let text = text.trim();
        let shown = || text.chars().take(40).collect::<String>();
        let (negative, digits) = split_sign(text);
        let number = read_decimal(digits)
            .ok()
            .filter(|_| digits.len() <= NUMBER_CHARACTERS_MAX && negative != Some(false))
            .ok_or_else(|| MoneyError::NotMoney { text: shown() })?;
        let missing_places = currency
            .minor_unit_places()
            .checked_sub(number.places)
            .ok_or_else(|| MoneyError::TooFine { text: shown(), currency })?;
        let minor = number.mantissa * 10_i128.pow(missing_places);
        let minor = if negative == Some(true) { -minor } else { minor };
        let minor = i64::try_from(minor).map_err(|_| MoneyError::TooLarge { text: shown() })?;
        Ok(Money { minor, currency })
    }

    /// The amount as a decimal, for arithmetic such as a share or a unit price.
    pub fn amount(self) -> Decimal {
        Decimal::new(self.minor, self.currency.minor_unit_places())
    }

    /// The amount with all places of its currency, such as `12.50`.
    ///
    /// ```
    /// use tenths_domain::money::Money;
    /// assert_eq!(Money::parse("12.50 USD").unwrap().amount_text(), "12.50");
    /// ```
    pub fn amount_text(self) -> String {
        decimal(i128::from(self.minor), self.currency.minor_unit_places())
    }

    /// The sum of two amounts in one currency.
    pub fn checked_add(self, other: Money) -> Result<Money, MoneyError> {
        if self.currency != other.currency {
            let (left, right) = (self.currency, other.currency);
            return Err(MoneyError::TwoCurrencies { left, right });
        }
        let minor = self.minor.checked_add(other.minor);
        let minor =
            minor.ok_or_else(|| MoneyError::TooLarge { text: format!("{self} + {other}") })?;
        Ok(Money { minor, ..self })
    }
}

impl fmt::Display for Money {
    /// The amount with all places of its currency, then the code.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.amount_text(), self.currency)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn check_refused(text: &str, message: &str) {
        let error = Money::parse(text).unwrap_err().to_string();
        assert!(error.starts_with(message), "{text}: {error}");
    }

    #[test]
    fn places_follow_the_currency() {
        for (text, minor, shown) in [
            ("180 USD", 18_000, "180.00 USD"),
            ("0.05 EUR", 5, "0.05 EUR"),
            ("-12.5 EUR", -1_250, "-12.50 EUR"),
            ("1500 JPY", 1_500, "1500 JPY"),
            ("1.234 KWD", 1_234, "1.234 KWD"),
        ] {
            let money = Money::parse(text).unwrap();
            assert_eq!((money.minor, money.to_string().as_str()), (minor, shown));
        }
    }

    #[test]
    fn what_is_not_exact_money_is_refused() {
        check_refused("180.000 USD", "\"180.000\" has too many decimal places; USD allows 2");
        check_refused("1.5 JPY", "\"1.5\" has too many decimal places; JPY allows 0");
        check_refused("180", "\"180\" is not an amount");
        check_refused("1,80 USD", "\"1,80\" is not an amount");
        check_refused("1e3 USD", "\"1e3\" is not an amount");
        check_refused("+1 USD", "\"+1\" is not an amount");
        check_refused("$1 USD", "\"$1\" is not an amount");
        check_refused("1 usd", "\"usd\" is not a known currency; allowed: AED, AUD");
        check_refused("99999999999999999999 USD", "\"99999999999999999999\" is too large");
    }

    #[test]
    fn sums_keep_to_one_currency_and_never_wrap() {
        let usd = |minor| Money { minor, currency: Currency::Usd };
        assert_eq!(usd(5).checked_add(usd(-7)), Ok(usd(-2)));
        assert!(usd(i64::MAX).checked_add(usd(1)).is_err());
        let eur = Money { minor: 1, currency: Currency::Eur };
        let error = usd(1).checked_add(eur).unwrap_err().to_string();
        assert_eq!(error, "USD and EUR cannot be added: one sum has one currency");
    }

    proptest! {
        #[test]
        fn every_amount_reads_back(minor in any::<i64>(), currency in prop::sample::select(Currency::ALL)) {
            let money = Money { minor, currency };
            prop_assert_eq!(Money::parse(&money.to_string()), Ok(money));
        }
    }
}
