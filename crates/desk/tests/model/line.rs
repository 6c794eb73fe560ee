//! A line on its way to the desk, and what it says of a client.

use serde_json::{Map, Value, json};

/// Her health answers, as far as lines tell any.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Health {
    pub allergies: Option<Vec<String>>,
    pub reacted: Option<bool>,
}

/// What a line says of a client.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Said {
    pub name: Option<String>,
    pub goal: Option<String>,
    pub strand: Option<String>,
    pub round_mm: Option<u64>,
    pub health: Health,
}

impl Said {
    /// As a file of facts.
    pub fn json(&self) -> Value {
        let mut file = Map::new();
        if let Some(name) = &self.name {
            file.insert("client".into(), json!({"name": name}));
        }
        let mut consultation = Map::new();
        if let Some(goal) = &self.goal {
            consultation.insert("goal".into(), json!(goal));
            consultation.insert("consent".into(), json!(true));
        }
        if let Some(reacted) = self.health.reacted {
            consultation.insert("reacted_before".into(), json!(reacted));
        }
        if let Some(allergies) = &self.health.allergies {
            consultation.insert("allergies".into(), json!(allergies));
        }
        if !consultation.is_empty() {
            file.insert("consultation".into(), Value::Object(consultation));
        }
        if let Some(strand) = &self.strand {
            file.insert("hair".into(), json!({"strand": strand}));
        }
        if let Some(mm) = self.round_mm {
            file.insert("head".into(), json!({"circumference_mm": mm as f64}));
        }
        Value::Object(file)
    }
}

/// A line on its way to the desk.
#[derive(Debug, Clone)]
pub struct Line {
    pub value: Value,
    pub said: Option<(Said, Vec<(String, String)>)>,
    pub key: Option<String>,
}

impl Line {
    pub fn plain(value: Value) -> Self {
        Self { value, said: None, key: None }
    }

    pub fn facts(mut value: Value, said: Said, consents: Vec<(String, String)>) -> Self {
        value["facts"] = said.json();
        value["consents"] = consents.iter().map(|(purpose, wording)| json!({"purpose": purpose, "wording": wording})).collect();
        Self { value, said: Some((said, consents)), key: None }
    }

    pub fn whole(&self) -> Value {
        let mut value = self.value.clone();
        if let Some(key) = &self.key {
            value["key"] = json!(key);
        }
        value
    }

    pub fn text(&self) -> String {
        self.whole().to_string()
    }

    pub fn get(&self, key: &str) -> &str {
        self.value[key].as_str().unwrap_or_default()
    }
}
