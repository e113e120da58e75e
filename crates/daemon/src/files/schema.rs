//! JSON Schemas of the files, so that editors complete keys and check values while one types.
//!
//! Only features of draft 4 and 7 are used: that is what editors' TOML plug-ins know.

use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde_json::{Map, Value, json};

use super::wire::Field;

/// A table's schema while its keys are being added.
pub(super) struct Table {
    description: &'static str,
    properties: Map<String, Value>,
    required: Vec<&'static str>,
}

impl Table {
    pub(super) fn new(description: &'static str) -> Self {
        Self { description, properties: Map::new(), required: Vec::new() }
    }

    pub(super) fn key<T: Field>(&mut self, key: &'static str, doc: &str, generator: &mut SchemaGenerator) {
        let mut schema = T::schema(generator);
        schema.insert("description".to_owned(), json!(doc.trim()));
        self.properties.insert(key.to_owned(), schema.to_value());
        if T::REQUIRED {
            self.required.push(key);
        }
    }

    pub(super) fn finish(self) -> Schema {
        let mut schema = schemars::json_schema!({
            "type": "object",
            "description": self.description.trim(),
            "properties": self.properties,
            "additionalProperties": false,
        });
        // An empty `required` is not allowed in draft 4.
        if !self.required.is_empty() {
            schema.insert("required".to_owned(), json!(self.required));
        }
        schema
    }
}

/// The schema of a file, as text to be kept beside the examples.
pub(super) fn text_of<T: JsonSchema>(title: &str) -> String {
    let settings = SchemaSettings::draft07().with(|settings| settings.inline_subschemas = true);
    let mut schema = settings.into_generator().into_root_schema_for::<T>();
    schema.insert("title".to_owned(), json!(title));
    format!("{:#}\n", schema.to_value())
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    /// `SAGGAR_WRITE_SCHEMAS=1 cargo test -p daemon schemas` rewrites them.
    #[test]
    fn the_kept_schemas_are_those_of_the_types() {
        let config = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../config");
        let kept = [
            ("schedule.schema.json", crate::files::schedule::json_schema()),
            ("kiln.schema.json", crate::files::kiln::json_schema()),
        ];
        for (name, text) in kept {
            let path = config.join(name);
            if std::env::var_os("SAGGAR_WRITE_SCHEMAS").is_some() {
                std::fs::write(&path, &text).unwrap();
            }
            let found = std::fs::read_to_string(&path).unwrap_or_default();
            assert!(
                found == text,
                "config/{name} is stale: SAGGAR_WRITE_SCHEMAS=1 cargo test -p daemon schemas"
            );
        }
    }
}
