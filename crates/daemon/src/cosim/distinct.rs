//! A JSON object whose names occur once: two values for one probe would hide one of them.

use std::collections::BTreeMap;
use std::fmt;
use std::marker::PhantomData;

use serde::de::{Error, MapAccess, Visitor};
use serde::{Deserialize, Deserializer};

/// What an object says by name.
#[derive(Debug)]
pub(super) struct Distinct<T>(pub(super) BTreeMap<String, T>);

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Distinct<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_map(ByName(PhantomData))
    }
}

struct ByName<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de>> Visitor<'de> for ByName<T> {
    type Value = Distinct<T>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object by name")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Self::Value, A::Error> {
        let mut found = BTreeMap::new();
        while let Some((name, value)) = entries.next_entry::<String, T>()? {
            if found.contains_key(&name) {
                return Err(A::Error::custom(format_args!("{name:?} is given twice")));
            }
            found.insert(name, value);
        }
        Ok(Distinct(found))
    }
}
