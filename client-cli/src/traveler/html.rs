//! The few parts of HTML that a page to print needs.

const STYLE: &str = "@page { margin: 12mm }
body { font: 10pt sans-serif; color: #000; background: #fff; margin: 0 }
h1 { font-size: 16pt; margin: 0 0 2mm } h2 { font-size: 11pt; margin: 4mm 0 1mm }
table { border-collapse: collapse; width: 100%; page-break-inside: auto }
tr { page-break-inside: avoid } th, td { border: 1px solid #000; padding: 1mm 1.5mm; text-align: left; vertical-align: top }
.pairs th { width: 38mm; font-weight: normal } .pairs td { font-weight: bold }
.boxes td { height: 9mm } .boxes { margin-bottom: 2mm; table-layout: fixed }
.say td { border-top: none; font-size: 9pt } .mind, .basis { border: 2px solid #000; padding: 1.5mm }";

/// Text as HTML shows it: nothing in it is markup.
pub(super) fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            other => safe.push(other),
        }
    }
    safe
}

/// A whole page around a body that is HTML already.
pub(super) fn page(title: &str, body: &str) -> String {
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<title>{}</title>\n\
         <style>\n{STYLE}\n</style>\n</head>\n<body>\n{body}</body>\n</html>\n",
        escaped(title)
    )
}

/// A row of cells.
pub(super) fn row(cell: &str, texts: &[&str]) -> String {
    let cells: Vec<String> =
        texts.iter().map(|text| format!("<{cell}>{}</{cell}>", escaped(text))).collect();
    format!("<tr>{}</tr>\n", cells.concat())
}

/// Names with what they say; what says nothing is left out.
pub(super) fn pairs(pairs: &[(&str, String)]) -> String {
    let said = pairs.iter().filter(|(_, text)| !text.is_empty());
    let rows = said.map(|(name, text)| {
        format!("<tr><th>{}</th><td>{}</td></tr>\n", escaped(name), escaped(text))
    });
    format!("<table class=\"pairs\">\n{}</table>\n", rows.collect::<String>())
}
