//! What each setting may be, and the violations found.

use super::redacted_url;
use std::fmt;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::ops::RangeInclusive;

pub(super) const DATABASE_ALLOWED: &str = "sqlite:///path/shop.db or postgres://user@host/name";
const LISTEN_DEFAULT: SocketAddr = SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), 7421);

/// One setting that may not have the value it was given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Violation {
    /// The setting.
    pub field: &'static str,
    /// What it was given.
    pub value: String,
    /// What it may be given.
    pub allowed: String,
}

impl fmt::Display for Violation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {} is not allowed; allowed: {}", self.field, self.value, self.allowed)
    }
}

/// Collects the violations, so that all are told at once.
#[derive(Default)]
pub(super) struct Check(pub(super) Vec<Violation>);

impl Check {
    fn refuse(
        &mut self,
        field: &'static str,
        value: impl Into<String>,
        allowed: impl Into<String>,
    ) {
        self.0.push(Violation { field, value: value.into(), allowed: allowed.into() });
    }

    pub(super) fn database(&mut self, given: Option<String>) -> Option<String> {
        let url = given?;
        let known = ["sqlite://", "postgres://", "postgresql://"];
        let rest = known.iter().find_map(|scheme| url.strip_prefix(scheme));
        if rest.is_none_or(str::is_empty) {
            self.refuse("database", format!("{:?}", redacted_url(&url)), DATABASE_ALLOWED);
        }
        Some(url)
    }

    pub(super) fn listen(&mut self, given: Option<String>, allow_remote: bool) -> SocketAddr {
        let Some(text) = given else { return LISTEN_DEFAULT };
        let Ok(address) = text.parse::<SocketAddr>() else {
            self.refuse("listen", format!("{text:?}"), "IP:PORT, as 127.0.0.1:7421 or [::1]:7421");
            return LISTEN_DEFAULT;
        };
        if !address.ip().to_canonical().is_loopback() && !allow_remote {
            let allowed = "a loopback address, as 127.0.0.1:7421, unless --allow-remote is given: \
                           traffic is plaintext and callers are not identified";
            self.refuse("listen", text, allowed);
        }
        address
    }

    pub(super) fn range(
        &mut self,
        field: &'static str,
        given: Option<u64>,
        default: u64,
        allowed: RangeInclusive<u64>,
    ) -> u64 {
        let value = given.unwrap_or(default);
        if !allowed.contains(&value) {
            let allowed = format!("{} to {}", allowed.start(), allowed.end());
            self.refuse(field, value.to_string(), allowed);
        }
        value
    }

    pub(super) fn count(
        &mut self,
        field: &'static str,
        given: Option<u64>,
        allowed: RangeInclusive<u64>,
    ) -> u32 {
        let value = self.range(field, given, 256, allowed);
        u32::try_from(value).unwrap_or(u32::MAX)
    }
}
