//! Short texts, such as tags and date codes, in 16 bytes each: a stock has millions.

use std::cmp::Ordering;

/// A text that needs no memory of its own if it is short.
#[derive(Debug)]
pub(super) enum Text {
    /// So many bytes of these.
    Short { length: u8, bytes: [u8; Text::SHORT_MAX] },
    /// Any other; boxed twice, since a plain box of a text is as large as all of this.
    Long(Box<Box<str>>),
}

impl Text {
    /// Bytes that are kept in place; with its length and kind that is two words.
    const SHORT_MAX: usize = 14;

    pub(super) fn as_str(&self) -> &str {
        match self {
            Text::Short { length, bytes } => {
                let text = std::str::from_utf8(&bytes[..usize::from(*length)]);
                text.expect("it was a text when it was put here")
            }
            Text::Long(text) => text,
        }
    }

    /// The bytes, which are in the order of the texts and need no check.
    fn as_bytes(&self) -> &[u8] {
        match self {
            Text::Short { length, bytes } => &bytes[..usize::from(*length)],
            Text::Long(text) => text.as_bytes(),
        }
    }

    pub(super) fn is_empty(&self) -> bool {
        self.as_bytes().is_empty()
    }
}

impl From<&str> for Text {
    fn from(text: &str) -> Self {
        let mut bytes = [0; Text::SHORT_MAX];
        match (bytes.get_mut(..text.len()), u8::try_from(text.len())) {
            (Some(place), Ok(length)) => {
                place.copy_from_slice(text.as_bytes());
                Text::Short { length, bytes }
            }
            _ => Text::Long(Box::new(text.into())),
        }
    }
}

impl PartialEq for Text {
    fn eq(&self, other: &Self) -> bool {
        self.as_bytes() == other.as_bytes()
    }
}

impl Eq for Text {}

impl Ord for Text {
    fn cmp(&self, other: &Self) -> Ordering {
        self.as_bytes().cmp(other.as_bytes())
    }
}

impl PartialOrd for Text {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

#[cfg(test)]
mod tests {
    use super::Text;

    /// Goal: a text comes out as it went in and in the order of texts, in place or not. Method:
    /// every pair of texts about the length that is kept in place, of one, two and three bytes a
    /// character.
    #[test]
    fn texts_come_out_as_they_went_in_and_in_order() {
        assert_eq!(size_of::<Text>(), 16);
        let texts: Vec<String> = (0..24)
            .flat_map(|length| ["P", "é", "€", "~"].map(|one| one.repeat(length)))
            .chain(["L-22".into(), "L-221".into(), "2026-03".into()])
            .collect();
        for one in &texts {
            assert_eq!(Text::from(one.as_str()).as_str(), one);
            for other in &texts {
                let order = Text::from(one.as_str()).cmp(&Text::from(other.as_str()));
                assert_eq!(order, one.cmp(other), "{one:?} {other:?}");
            }
        }
    }
}
