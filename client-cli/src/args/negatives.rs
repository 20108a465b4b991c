//! Negative sizes behind a flag: `--size -1mm` means `--size=-1mm`, so that the refusal is ours, with
//! the field and what is allowed, and not one about an unknown flag `-1`.

use std::ffi::OsString;

/// The words of a command line, each negative number joined to the flag before it.
pub(crate) fn joined(words: impl IntoIterator<Item = OsString>) -> Vec<OsString> {
    let mut joined: Vec<OsString> = Vec::new();
    let mut flags_end = false;
    for word in words {
        flags_end |= word == "--";
        match joined.last_mut().filter(|before| !flags_end && is_flag(before)) {
            Some(flag) if is_negative(&word) => {
                flag.push("=");
                flag.push(&word);
            }
            _ => joined.push(word),
        }
    }
    joined
}

fn is_flag(word: &OsString) -> bool {
    word.to_str()
        .is_some_and(|word| word.len() > 2 && word.starts_with("--") && !word.contains('='))
}

fn is_negative(word: &OsString) -> bool {
    let number = word.to_str().and_then(|word| word.strip_prefix('-'));
    number.is_some_and(|number| number.starts_with(|c: char| c.is_ascii_digit() || c == '.'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_negative_numbers_behind_a_flag_are_joined() {
        for (line, expected) in [
            ("limits --size -1mm --class k5", "limits --size=-1mm --class k5"),
            ("fit --clearance -.02..0mm", "fit --clearance=-.02..0mm"),
            ("a --b=1 -1", "a --b=1 -1"),
            ("a -- --b -1", "a -- --b -1"),
            ("a --from -", "a --from -"),
            ("a --x -v", "a --x -v"),
            ("read P-7 -1", "read P-7 -1"),
        ] {
            let words = |line: &str| line.split(' ').map(OsString::from).collect::<Vec<_>>();
            assert_eq!(joined(words(line)), words(expected), "{line}");
        }
    }
}
