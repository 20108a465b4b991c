//! Database URLs as they may be shown.

/// A database URL with its password, if it holds one, replaced by `***`.
#[must_use]
pub fn redacted_url(url: &str) -> String {
    let (address, query) = url.split_once('?').map_or((url, None), |(a, q)| (a, Some(q)));
    let mut shown = match address.split_once("://").map(|(s, rest)| (s, rest.rsplit_once('@'))) {
        Some((scheme, Some((person, host)))) => {
            let user =
                person.split_once(':').map_or(person.to_owned(), |(u, _)| format!("{u}:***"));
            format!("{scheme}://{user}@{host}")
        }
        _ => address.to_owned(),
    };
    if let Some(query) = query {
        let pairs: Vec<_> = query
            .split('&')
            .map(|pair| if pair.starts_with("password=") { "password=***" } else { pair })
            .collect();
        shown = format!("{shown}?{}", pairs.join("&"));
    }
    shown
}
