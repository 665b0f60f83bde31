//! The JSON Schemas (draft 2020-12) of the outputs that programs read.

/// Of `bloomward.advice/1`.
pub const ADVICE: &str = include_str!("schemas/advice.json");

/// Of `bloomward.findings/1`.
pub const FINDINGS: &str = include_str!("schemas/findings.json");

/// Of `bloomward.mix/1`.
pub const MIX: &str = include_str!("schemas/mix.json");

/// Of `bloomward.sprayday/1`.
pub const SPRAYDAY: &str = include_str!("schemas/sprayday.json");

/// Of `bloomward.ask/1`.
pub const ASK: &str = include_str!("schemas/ask.json");

/// Of `bloomward.records/1`.
pub const RECORDS: &str = include_str!("schemas/records.json");

/// Of `bloomward.season/1`.
pub const SEASON: &str = include_str!("schemas/season.json");

/// Of `bloomward.scouted/1`.
pub const SCOUTED: &str = include_str!("schemas/scouted.json");

/// Of `bloomward.sprayed/1`.
pub const SPRAYED: &str = include_str!("schemas/sprayed.json");

/// Of `bloomward.weather/1`.
pub const WEATHER: &str = include_str!("schemas/weather.json");

#[cfg(test)]
mod tests {
    use schemars::generate::SchemaSettings;
    use schemars::transform::transform_subschemas;
    use schemars::{JsonSchema, Schema};
    use serde_json::{Value, json};

    /// Returns the schema of what a form is written as.
    fn derived<T: JsonSchema>() -> String {
        let settings = SchemaSettings::draft2020_12().for_serialize();
        let schema = settings.with_transform(strict).into_generator().into_root_schema_for::<T>();
        let mut schema = serde_json::to_value(schema).unwrap();
        // A form begins with its name, which schemars leaves out.
        schema["properties"]["format"] = json!({ "const": schema["title"] });
        schema["required"].as_array_mut().unwrap().insert(0, json!("format"));
        serde_json::to_string_pretty(&schema).unwrap() + "\n"
    }

    /// Makes a schema as strict as what is written: no other keys, and what may be left out is never null.
    fn strict(schema: &mut Schema) {
        // `uint32`, `double`: of the width of a number a reader of JSON knows nothing.
        schema.remove("format");
        if let Some(Value::String(words)) = schema.get_mut("description") {
            *words = words.split_whitespace().collect::<Vec<_>>().join(" ");
        }
        let required = schema.get("required").cloned().unwrap_or(json!([]));
        if let Some(Value::Object(properties)) = schema.get_mut("properties") {
            let is_left_out = |key: &str| !required.as_array().unwrap().contains(&json!(key));
            properties.iter_mut().filter(|(key, _)| is_left_out(key)).for_each(|(_, of)| without_null(of));
            let closed = schema.get("additionalProperties").cloned().unwrap_or(json!(false));
            schema.insert("additionalProperties".to_owned(), closed);
        }
        transform_subschemas(&mut strict, schema);
    }

    fn without_null(of: &mut Value) {
        let Some(of) = of.as_object_mut() else { return };
        // Of a part that is left out as a whole a field may be null where it is there.
        if of.remove("nullable").is_some() {
            return;
        }
        if let Some(Value::Array(types)) = of.get_mut("type") {
            types.retain(|it| it != "null");
            if let [one] = &types[..] {
                let one = one.clone();
                of.insert("type".to_owned(), one);
            }
        }
        if let Some(Value::Array(ways)) = of.get_mut("anyOf") {
            ways.retain(|it| it["type"] != "null");
            if let [one] = &ways[..] {
                let one = one.as_object().unwrap().clone();
                of.remove("anyOf");
                of.extend(one);
            }
        }
    }

    #[test]
    fn a_schema_is_what_is_derived_from_its_form() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/report/schemas");
        for (file, schema, derived) in [
            ("advice", super::ADVICE, derived::<crate::report::advice_json::AdviceForm>()),
            ("ask", super::ASK, derived::<crate::report::ask::AskForm>()),
            ("findings", super::FINDINGS, derived::<crate::report::findings_json::FindingsForm>()),
            ("mix", super::MIX, derived::<crate::report::mix_json::MixForm>()),
            ("records", super::RECORDS, derived::<crate::report::records::RecordForm>()),
            ("scouted", super::SCOUTED, derived::<crate::report::noted::NotedForm>()),
            ("season", super::SEASON, derived::<crate::report::season::SeasonForm>()),
            ("sprayday", super::SPRAYDAY, derived::<crate::report::crew::CrewForm>()),
            ("sprayed", super::SPRAYED, derived::<crate::report::logged_json::LoggedForm>()),
        ] {
            if std::env::var_os("BLOOMWARD_WRITE").is_some() {
                std::fs::write(format!("{folder}/{file}.json"), &derived).unwrap();
            } else {
                assert_eq!(schema, derived, "run it with BLOOMWARD_WRITE=1");
            }
        }
    }
}
