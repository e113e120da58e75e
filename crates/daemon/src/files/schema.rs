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
