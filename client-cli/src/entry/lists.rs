//! Small lists as typed: `hp=2`, `180.00 USD`, `L-22:2@A-1-3`, `item=SHAFT-40,at=BENCH-1`.

use crate::words;
use tenths_proto::v1;

/// Reads one nameplate entry, `NAME=WHAT IT SAYS`.
pub(crate) fn key_value(text: &str) -> Result<v1::KeyValue, String> {
    match text.split_once('=') {
        Some((key, value)) if !key.is_empty() => {
            Ok(v1::KeyValue { key: key.to_owned(), value: value.to_owned() })
        }
        _ => Err("write NAME=VALUE, such as hp=2".to_owned()),
    }
}

/// Reads an amount and its currency, `180.00 USD`.
pub(crate) fn money(text: &str) -> Result<v1::Money, String> {
    match text.split_whitespace().collect::<Vec<_>>()[..] {
        [amount, currency] => {
            Ok(v1::Money { amount: amount.to_owned(), currency: currency.to_owned() })
        }
        _ => Err("write the amount and its currency, such as \"180.00 USD\"".to_owned()),
    }
}

/// Reads what is to be held of a lot: `LOT:QUANTITY`, or `LOT:QUANTITY@LOCATION`.
pub(crate) fn lot_line(text: &str) -> Result<v1::ReserveLine, String> {
    let (what, location_code) = text.split_once('@').unwrap_or((text, ""));
    let refused = || "write LOT:QUANTITY or LOT:QUANTITY@LOCATION, such as L-22:2".to_owned();
    let (tag, quantity) = what.rsplit_once(':').ok_or_else(refused)?;
    let quantity = quantity.parse().map_err(|_| refused())?;
    // The contract takes 0 for "one piece"; of a lot nobody means that.
    if tag.is_empty() || quantity < 1 || text.ends_with('@') {
        return Err(refused());
    }
    Ok(v1::ReserveLine {
        subject: Some(v1::reserve_line::Subject::LotTag(tag.to_owned())),
        quantity,
        location_code: location_code.to_owned(),
    })
}

/// A line that holds one piece.
pub(crate) fn piece_line(tag: &str) -> v1::ReserveLine {
    v1::ReserveLine {
        subject: Some(v1::reserve_line::Subject::PieceTag(tag.to_owned())),
        quantity: 1,
        location_code: String::new(),
    }
}

/// Reads what a core yields: `item=SHAFT-40,at=BENCH-1`, and `tag=`, `built-up=`, `note=` if known.
/// A note comes last and may hold commas.
pub(crate) fn teardown_piece(text: &str) -> Result<v1::TeardownPiece, String> {
    let mut piece = v1::TeardownPiece::default();
    let mut rest = text;
    while !rest.is_empty() {
        if let Some(note) = rest.strip_prefix("note=") {
            piece.note = note.to_owned();
            break;
        }
        let (pair, after) = rest.split_once(',').unwrap_or((rest, ""));
        set_teardown_field(&mut piece, pair)?;
        rest = after;
    }
    if piece.item_code.is_empty() || piece.location_code.is_empty() {
        return Err("item= and at= are both needed, such as item=SHAFT-40,at=BENCH-1".to_owned());
    }
    Ok(piece)
}

fn set_teardown_field(piece: &mut v1::TeardownPiece, pair: &str) -> Result<(), String> {
    let (key, value) = pair.split_once('=').unwrap_or((pair, ""));
    let field = match key {
        "item" => &mut piece.item_code,
        "at" => &mut piece.location_code,
        "tag" => &mut piece.tag,
        "built-up" => {
            piece.set_built_up(words::built_up_of(value)?);
            return Ok(());
        }
        _ => {
            return Err(format!("{key:?} is not known; allowed: item, at, tag, built-up, note"));
        }
    };
    if value.is_empty() {
        return Err(format!("{key}= says nothing"));
    }
    if !field.is_empty() {
        return Err(format!("{key}= is given twice"));
    }
    *field = value.to_owned();
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nameplate_entries_keep_later_equal_signs() {
        let entry = key_value("code=A=1").unwrap();
        assert_eq!((entry.key.as_str(), entry.value.as_str()), ("code", "A=1"));
        assert!(key_value("hp").is_err() && key_value("=2").is_err());
    }

    #[test]
    fn money_needs_its_currency() {
        let deposit = money("180.00 USD").unwrap();
        assert_eq!((deposit.amount.as_str(), deposit.currency.as_str()), ("180.00", "USD"));
        assert!(money("180.00").is_err() && money("1 8 USD").is_err());
    }

    #[test]
    fn lots_are_held_by_quantity_and_maybe_place() {
        let line = lot_line("L-9:12@A-1-3").unwrap();
        assert_eq!(line.subject, Some(v1::reserve_line::Subject::LotTag("L-9".into())));
        assert_eq!((line.quantity, line.location_code.as_str()), (12, "A-1-3"));
        assert_eq!(lot_line("L-22:2").unwrap().location_code, "");
        for text in ["L-22", "L-22:", "L-22:0", "L-22:-1", ":2", "L-22:2@", "L-22:x"] {
            assert!(lot_line(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_teardown_piece_with_everything() {
        let piece =
            teardown_piece("item=SHAFT-40,at=BENCH-1,tag=P-104,built-up=no,note=scored, DE side");
        let expected = v1::TeardownPiece {
            tag: "P-104".into(),
            item_code: "SHAFT-40".into(),
            location_code: "BENCH-1".into(),
            built_up: v1::BuiltUp::No.into(),
            note: "scored, DE side".into(),
        };
        assert_eq!(piece, Ok(expected));
    }

    #[test]
    fn a_teardown_piece_says_what_is_wrong() {
        for (text, part) in [
            ("item=S", "item= and at="),
            ("item=S,at=B,colour=red", "allowed: item, at, tag"),
            ("item=S,at=B,built-up=maybe", "yes, no"),
            ("item=S,item=T,at=B", "twice"),
            ("item=S,at=", "says nothing"),
        ] {
            let error = teardown_piece(text).unwrap_err();
            assert!(error.contains(part), "{text}: {error}");
        }
    }
}
