//! Enumerations that are spelled the same in proto, SQL, CSV and on the command line.

/// Defines an enumeration whose members have one lower-snake-case name each, with the parser that
/// names what is allowed.
macro_rules! named_enum {
    ($(#[$doc:meta])* $name:ident, $what:literal { $($(#[$vdoc:meta])* $variant:ident = $text:literal),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$vdoc])* $variant),* }

        impl $name {
            /// Every member, in the order of declaration.
            pub const ALL: &[$name] = &[$($name::$variant),*];

            /// The one name of this member.
            pub const fn as_str(self) -> &'static str {
                match self { $($name::$variant => $text),* }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.as_str())
            }
        }

        impl std::str::FromStr for $name {
            type Err = $crate::named::UnknownName;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                let found = Self::ALL.iter().copied().find(|member| member.as_str() == text);
                found.ok_or_else(|| $crate::named::UnknownName {
                    what: $what,
                    text: text.to_owned(),
                    allowed: Self::ALL.iter().map(|member| member.as_str()).collect(),
                })
            }
        }
    };
}
pub(crate) use named_enum;

/// A word that names no member of an enumeration.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{text:?} is not a known {what}; allowed: {}", allowed.join(", "))]
pub struct UnknownName {
    /// What was being named.
    pub what: &'static str,
    /// What was given.
    pub text: String,
    /// Every name that is allowed.
    pub allowed: Vec<&'static str>,
}
