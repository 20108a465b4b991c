//! Finding what a request names, or saying that it is not there.

use super::act::View;
use super::error::Error;
use tenths_domain::ids::LocationId;
use tenths_domain::state::LocationKind;
use tenths_storage::{
    Core, Gauge, Item, ItemFeature, Job, Location, Lot, Piece, Rebuild, Reservation, SendOut,
};

fn found<T>(row: Option<T>, kind: &'static str, name: &str) -> Result<T, Error> {
    row.ok_or_else(|| Error::NotFound { kind, name: name.to_owned() })
}

impl View<'_> {
    pub(crate) async fn find_item(&self, code: &str) -> Result<Item, Error> {
        found(self.tx.item_by_code(code).await?, "item", code)
    }

    pub(crate) async fn find_location(&self, code: &str) -> Result<Location, Error> {
        found(self.tx.location_by_code(code).await?, "location", code)
    }

    pub(crate) async fn find_core(&self, tag: &str) -> Result<Core, Error> {
        found(self.tx.core_by_tag(tag).await?, "core", tag)
    }

    pub(crate) async fn find_piece(&self, tag: &str) -> Result<Piece, Error> {
        found(self.tx.piece_by_tag(tag).await?, "piece", tag)
    }

    /// The item that a piece is one of.
    pub(crate) async fn item_of(&self, piece: &Piece) -> Result<Item, Error> {
        let item = self.tx.items_by_ids([piece.item]).await?.remove(&piece.item);
        found(item, "item", &format!("of piece {}", piece.tag))
    }

    pub(crate) async fn find_lot(&self, tag: &str) -> Result<Lot, Error> {
        found(self.tx.lot_by_tag(tag).await?, "lot", tag)
    }

    pub(crate) async fn find_gauge(&self, tag: &str) -> Result<Gauge, Error> {
        found(self.tx.gauge_by_tag(tag).await?, "gauge", tag)
    }

    pub(crate) async fn find_job(&self, tag: &str) -> Result<Job, Error> {
        found(self.tx.job_by_tag(tag).await?, "job", tag)
    }

    pub(crate) async fn find_send_out(&self, tag: &str) -> Result<SendOut, Error> {
        found(self.tx.send_out_by_tag(tag).await?, "send-out", tag)
    }

    pub(crate) async fn find_rebuild(&self, tag: &str) -> Result<Rebuild, Error> {
        found(self.tx.rebuild_by_tag(tag).await?, "rebuild", tag)
    }

    pub(crate) async fn find_reservation(&self, tag: &str) -> Result<Reservation, Error> {
        found(self.tx.reservation_by_tag(tag).await?, "reservation", tag)
    }

    /// What kind of thing wears this tag, if any does: a label is one thing's only.
    pub(crate) async fn tagged_kind(&self, tag: &str) -> Result<Option<&'static str>, Error> {
        Ok(if self.tx.core_by_tag(tag).await?.is_some() {
            Some("core")
        } else if self.tx.piece_by_tag(tag).await?.is_some() {
            Some("piece")
        } else if self.tx.lot_by_tag(tag).await?.is_some() {
            Some("lot")
        } else {
            None
        })
    }

    /// A place in the shop: only a send-out takes a piece to a vendor.
    pub(crate) async fn place_in_shop(&self, code: &str) -> Result<Location, Error> {
        let location = self.find_location(code).await?;
        if location.kind == LocationKind::Vendor {
            let problem = format!(
                "{code} is a vendor: a piece goes there by a send-out of its job; allowed: a place \
                 in the shop, of any kind but vendor"
            );
            return Err(Error::invalid("location_code", problem));
        }
        Ok(location)
    }

    /// A vendor's place, outside the shop.
    pub(crate) async fn find_vendor(&self, code: &str) -> Result<Location, Error> {
        let location = self.find_location(code).await?;
        if location.kind != LocationKind::Vendor {
            let kind = location.kind;
            let problem = format!("{code} is a {kind}; allowed: a place of kind vendor");
            return Err(Error::invalid("location_code", problem));
        }
        Ok(location)
    }

    /// The place in the shop of this code; nothing where none is given.
    pub(crate) async fn place_if_given(
        &self,
        code: Option<&str>,
    ) -> Result<Option<LocationId>, Error> {
        match code {
            Some(code) => Ok(Some(self.place_in_shop(code).await?.id)),
            None => Ok(None),
        }
    }
}

/// The feature of this name on `item`.
pub(crate) fn feature_of<'i>(item: &'i Item, name: &str) -> Result<&'i ItemFeature, Error> {
    let named = || format!("{name} of item {}", item.code);
    item.feature(name).ok_or_else(|| Error::NotFound { kind: "feature", name: named() })
}
