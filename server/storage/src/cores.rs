//! Cores and their nameplates.

use crate::entities::{core_nameplates, cores, pieces};
use crate::error::StorageError;
use crate::page::Page;
use crate::rows::{corrupt, lines, named, named_option, one_row};
use crate::tx::Tx;
use sea_orm::{
    ActiveModelTrait, ActiveValue::NotSet, ActiveValue::Set, ColumnTrait, EntityTrait, QueryFilter,
    QueryOrder, QuerySelect,
};
use std::collections::HashMap;
use tenths_domain::ids::{CoreId, ItemId, LocationId};
use tenths_domain::money::Money;
use tenths_domain::state::{CoreGrade, CoreState, OwnerKind};

/// A worn unit taken in.
#[derive(Clone, Debug, PartialEq)]
pub struct Core {
    /// Row number; 0 before it is stored.
    pub id: CoreId,
    /// The label on it.
    pub tag: String,
    /// The catalogue item, if it is one.
    pub item: Option<ItemId>,
    /// What it is, in words.
    pub description: String,
    /// Who owns it.
    pub owner: OwnerKind,
    /// The customer, or empty.
    pub customer: String,
    /// The grade given at the door.
    pub door_grade: CoreGrade,
    /// Why.
    pub door_reasons: Vec<String>,
    /// The grade found at teardown.
    pub teardown_grade: Option<CoreGrade>,
    /// Why.
    pub teardown_reasons: Vec<String>,
    /// The deposit.
    pub deposit: Option<Money>,
    /// Where it is; none once it is torn down.
    pub location: Option<LocationId>,
    /// Where it stands.
    pub state: CoreState,
    /// Who logged it.
    pub received_by: String,
    /// When it was logged, in Unix microseconds.
    pub created_at: i64,
    /// Version.
    pub revision: i64,
    /// What the nameplate says, in the order given.
    pub nameplate: Vec<(String, String)>,
}

impl Tx {
    /// The core of this tag, locked until the transaction ends.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn core_by_tag(&self, tag: &str) -> Result<Option<Core>, StorageError> {
        let query = self.locked(cores::Entity::find().filter(cores::Column::Tag.eq(tag)));
        let row = query.one(&self.inner).await?;
        Ok(self.with_nameplates(row.into_iter().collect()).await?.pop())
    }

    /// Cores in order of receipt.
    ///
    /// # Errors
    /// As [`Tx::core_by_tag`].
    pub async fn cores_page(
        &self,
        page: Page,
        state: Option<CoreState>,
    ) -> Result<Vec<Core>, StorageError> {
        let mut query = cores::Entity::find().filter(cores::Column::Id.gt(page.after));
        if let Some(state) = state {
            query = query.filter(cores::Column::State.eq(state.as_str()));
        }
        let rows = query.order_by_asc(cores::Column::Id).limit(page.limit).all(&self.inner).await?;
        self.with_nameplates(rows).await
    }

    /// The tags of these cores.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn core_tags(
        &self,
        ids: impl Into<Vec<CoreId>>,
    ) -> Result<HashMap<CoreId, String>, StorageError> {
        let ids: Vec<i64> = ids.into().into_iter().map(|id| id.0).collect();
        let tags = self.texts::<cores::Entity>(cores::Column::Id, cores::Column::Tag, ids).await?;
        Ok(tags.into_iter().map(|(id, tag)| (CoreId(id), tag)).collect())
    }

    /// The tags of the pieces that each of these cores became, in order of creation.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn piece_tags_by_core(
        &self,
        ids: impl Into<Vec<CoreId>>,
    ) -> Result<HashMap<CoreId, Vec<String>>, StorageError> {
        let ids: Vec<i64> = ids.into().into_iter().map(|id| id.0).collect();
        let mut rows: Vec<(Option<i64>, i64, String)> = pieces::Entity::find()
            .select_only()
            .columns([pieces::Column::CoreId, pieces::Column::Id, pieces::Column::Tag])
            .filter(pieces::Column::CoreId.is_in(ids))
            .into_tuple()
            .all(&self.inner)
            .await?;
        rows.sort_by_key(|(_, id, _)| *id);
        let mut tags: HashMap<CoreId, Vec<String>> = HashMap::new();
        for (core, _, tag) in rows {
            tags.entry(CoreId(core.unwrap_or_default())).or_default().push(tag);
        }
        Ok(tags)
    }

    /// Adds a core; answers with its number filled in.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if the tag was ever used.
    pub async fn insert_core(&self, mut core: Core) -> Result<Core, StorageError> {
        let mut row = core_row(&core);
        row.id = NotSet;
        core.id = CoreId(row.insert(&self.inner).await?.id);
        for (name, value) in &core.nameplate {
            let row = core_nameplates::ActiveModel {
                id: NotSet,
                core_id: Set(core.id.0),
                name: Set(name.clone()),
                value: Set(value.clone()),
            };
            row.insert(&self.inner).await?;
        }
        Ok(core)
    }

    /// Saves a core, guarded by its revision, which rises. The nameplate stays.
    ///
    /// # Errors
    /// [`StorageError::Conflict`] if it was changed meanwhile.
    pub async fn save_core(&self, core: &mut Core) -> Result<(), StorageError> {
        let mut row = core_row(core);
        row.revision = Set(core.revision + 1);
        let result = cores::Entity::update_many()
            .set(row)
            .filter(cores::Column::Id.eq(core.id.0))
            .filter(cores::Column::Revision.eq(core.revision))
            .exec(&self.inner)
            .await?;
        one_row(&result)?;
        core.revision += 1;
        Ok(())
    }

    async fn with_nameplates(&self, rows: Vec<cores::Model>) -> Result<Vec<Core>, StorageError> {
        let ids: Vec<i64> = rows.iter().map(|row| row.id).collect();
        let mut found =
            self.rows_in::<core_nameplates::Entity>(core_nameplates::Column::CoreId, &ids).await?;
        found.sort_by_key(|row| row.id);
        let mut plates: HashMap<i64, Vec<(String, String)>> = HashMap::new();
        for row in found {
            plates.entry(row.core_id).or_default().push((row.name, row.value));
        }
        rows.into_iter()
            .map(|row| {
                let nameplate = plates.remove(&row.id).unwrap_or_default();
                core(row, nameplate)
            })
            .collect()
    }
}

fn core(row: cores::Model, nameplate: Vec<(String, String)>) -> Result<Core, StorageError> {
    let id = row.id;
    let deposit = match (row.deposit_minor, row.deposit_currency.as_deref()) {
        (Some(minor), Some(currency)) => {
            Some(Money { minor, currency: named("cores", id, currency)? })
        }
        (None, None) => None,
        _ => return Err(corrupt("cores", id, "an amount without a currency")),
    };
    Ok(Core {
        id: CoreId(id),
        item: row.item_id.map(ItemId),
        owner: named("cores", id, &row.owner)?,
        door_grade: named("cores", id, &row.door_grade)?,
        door_reasons: lines(&row.door_reasons),
        teardown_grade: named_option("cores", id, row.teardown_grade.as_deref())?,
        teardown_reasons: lines(&row.teardown_reasons),
        deposit,
        location: row.location_id.map(LocationId),
        state: named("cores", id, &row.state)?,
        tag: row.tag,
        description: row.description,
        customer: row.customer,
        received_by: row.received_by,
        created_at: row.created_at,
        revision: row.revision,
        nameplate,
    })
}

fn core_row(core: &Core) -> cores::ActiveModel {
    cores::ActiveModel {
        id: Set(core.id.0),
        tag: Set(core.tag.clone()),
        item_id: Set(core.item.map(|id| id.0)),
        description: Set(core.description.clone()),
        owner: Set(core.owner.as_str().to_owned()),
        customer: Set(core.customer.clone()),
        door_grade: Set(core.door_grade.as_str().to_owned()),
        door_reasons: Set(core.door_reasons.join("\n")),
        teardown_grade: Set(core.teardown_grade.map(|grade| grade.as_str().to_owned())),
        teardown_reasons: Set(core.teardown_reasons.join("\n")),
        deposit_minor: Set(core.deposit.map(|money| money.minor)),
        deposit_currency: Set(core.deposit.map(|money| money.currency.as_str().to_owned())),
        location_id: Set(core.location.map(|id| id.0)),
        state: Set(core.state.as_str().to_owned()),
        received_by: Set(core.received_by.clone()),
        created_at: Set(core.created_at),
        revision: Set(core.revision),
    }
}
