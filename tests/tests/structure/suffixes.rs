//! A bare number in a structure says its unit last in its name.

use std::fs;

use syn::visit::Visit;
use whole_product_tests::{files, named};

/// Units as names end with them, and pure numbers by what they are.
const UNITS: [&str; 41] = [
    "_c", "_k", "_s", "_h", "_min", "_ms", "_w", "_kw", "_kwh", "_j", "_v", "_mv", "_uv", "_a", "_m", "_mm",
    "_m2", "_m3", "_l", "_kg", "_ohm", "_per_h", "_per_s", "_per_k", "_per_k4", "_per_m3", "_per_m2",
    "_per_mk", "_per_kgk", "_per_cm2", "_per_c", "_c2", "_per_mv2", "_per_m2k", "_w2s", "_s2", "_ratio",
    "_share", "_deg", "_cs", "_per_cs",
];

/// Numbers whose unit is another's business or that have none.
const WITHOUT: [(&str, &str); 8] = [
    ("Panel", "in the unit its axis states"),
    ("Evidence", "in the unit its interlock states"),
    ("Heat", "a state in °C and J, or its rate per second"),
    ("ZoneHeat", "a state in °C, or its rate per second"),
    ("Ledger", "energies in J, or powers in W"),
    ("Lag", "in the unit of what it follows"),
    ("Felt", "°C/s at full power, and its squares"),
    ("Sums", "over time, of products of seconds at full power and °C"),
];

/// Pure numbers.
const PURE: [&str; 13] = [
    "sharpness",
    "of_reading",
    "count",
    "turning",
    "turned_before",
    "unlimited",
    "element_view",
    "withdrawn",
    "wander",
    "mains_wander",
    "zone_opening",
    "junction_sign",
    "extension_sign",
];

#[derive(Default)]
struct Bare {
    file: String,
    found: Vec<String>,
}

impl<'ast> Visit<'ast> for Bare {
    fn visit_item_struct(&mut self, item: &'ast syn::ItemStruct) {
        let name = item.ident.to_string();
        if WITHOUT.iter().any(|(known, _)| *known == name) {
            return;
        }
        for field in &item.fields {
            let (Some(ident), syn::Type::Path(kind)) = (&field.ident, &field.ty) else { continue };
            let ident = ident.to_string();
            let bare = kind.path.is_ident("f64") || kind.path.is_ident("f32");
            let says = UNITS.iter().any(|unit| ident.ends_with(unit) || ident == unit[1..])
                || PURE.contains(&ident.as_str());
            if bare && !says {
                self.found.push(format!("{}: {name}.{ident}", self.file));
            }
        }
    }
}

#[test]
fn every_bare_number_in_a_structure_names_its_unit() {
    let mut bare = Bare::default();
    for name in ["pyrometry", "control", "hal", "warden", "kiln-sim", "insight", "campaign", "law-bench"] {
        let source = files(&format!("crates/{name}/src"), ".rs");
        for path in
            source.into_iter().filter(|path| !path.components().any(|part| part.as_os_str() == "tests"))
        {
            bare.file = named(&path);
            let text = fs::read_to_string(&path).expect("source is text");
            bare.visit_file(&syn::parse_file(&text).expect("source is Rust"));
        }
    }
    assert!(bare.found.is_empty(), "unit last, such as `rate_c_per_h`:\n{}", bare.found.join("\n"));
}
