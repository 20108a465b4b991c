//! Lines that a person can read: how wide they may be, and sentences broken to that width.

use clap::Command;
use std::io::{self, IsTerminal};

/// Columns of a line where nothing else says how many.
pub(crate) const COLUMNS: usize = 100;

/// Narrower than this, a table could show nothing.
const COLUMNS_MIN: usize = 40;

/// The columns of a line on standard output: the terminal's; for a file or a pipe those of the
/// environment's COLUMNS, else [`COLUMNS`].
pub(crate) fn columns() -> usize {
    let told = || std::env::var("COLUMNS").ok()?.parse().ok();
    let columns = if io::stdout().is_terminal() {
        columns_of_help(Command::new("line"))
    } else {
        told().unwrap_or(COLUMNS)
    };
    columns.max(COLUMNS_MIN)
}

/// The columns that help is wrapped at: clap asks the terminal, so nothing else here has to.
fn columns_of_help(command: Command) -> usize {
    // One line of odd and one of even length, each as long as the columns allow.
    let letters = "x ".repeat(500);
    let help = command.about(format!("{letters}\nx{letters}")).help_template("{about}");
    let help = help.clone().render_help().to_string();
    help.lines().map(|line| width(line.trim_end())).max().unwrap_or(COLUMNS)
}

/// `label` and `sentence`, broken between words; later lines are set in by `indent`. A word longer
/// than a line stays whole, so that it can be found and copied.
pub(crate) fn hanging(label: &str, sentence: &str, indent: usize, columns: usize) -> String {
    let mut lines = String::new();
    let mut line = label.to_owned();
    let mut is_empty = true;
    for word in sentence.split(' ') {
        if !is_empty && width(&line) + 1 + width(word) > columns {
            lines.push_str(line.trim_end());
            lines.push('\n');
            line = " ".repeat(indent);
        } else if !is_empty {
            line.push(' ');
        }
        line.push_str(word);
        is_empty = false;
    }
    lines + line.trim_end() + "\n"
}

/// `text` in at most `columns`, an ellipsis in the place of what is left out.
pub(crate) fn cut(text: &str, columns: usize) -> String {
    if width(text) <= columns {
        return text.to_owned();
    }
    let kept: String = text.chars().take(columns.saturating_sub(1)).collect();
    format!("{}…", kept.trim_end())
}

/// The columns that a text takes.
pub(crate) fn width(text: &str) -> usize {
    text.chars().count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clap_tells_the_columns_of_a_line() {
        for columns in [40, 79, 80, 133] {
            assert_eq!(columns_of_help(Command::new("line").term_width(columns)), columns);
        }
    }

    #[test]
    fn a_sentence_hangs_from_its_label() {
        for (columns, expected) in [
            (40, "note: measure the actual pair\n"),
            (29, "note: measure the actual pair\n"),
            (28, "note: measure the actual\n  pair\n"),
            (12, "note: measure\n  the actual\n  pair\n"),
        ] {
            assert_eq!(hanging("note: ", "measure the actual pair", 2, columns), expected);
        }
        assert_eq!(hanging("due  ", "", 5, 40), "due\n");
    }

    #[test]
    fn a_long_text_is_cut_where_it_no_longer_fits() {
        for (columns, expected) in [(9, "⌀ 25 ± 1"), (8, "⌀ 25 ± 1"), (7, "⌀ 25 ±…"), (6, "⌀ 25…")]
        {
            assert_eq!(cut("⌀ 25 ± 1", columns), expected);
        }
    }
}
