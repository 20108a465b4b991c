//! The wire.

/// The services of `tenths.v1`. None is written yet; each is added here.
pub fn routes(_app: crate::app::App) -> tonic::service::Routes {
    tonic::service::Routes::default()
}
