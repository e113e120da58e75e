//! A kiln's exact parameters and a firing of it second by second, for computations apart from ours.

use std::fs;
use std::path::Path;

use csv::Writer;
use kiln_sim::{KilnSpec, Plant};
use pyrometry::units::Celsius;
use serde_json::{Value, json};

use crate::case::Case;
use crate::fault::{Fault, folder};
use crate::fire::{Begun, fire};
use crate::schedule::{Part, Second};

/// Writes `kiln.json` and `firing.csv` of a first firing by the controller. All figures are written with
/// as many digits as bring them back exactly.
pub(crate) fn export(case: &Case, into: &Path) -> Result<(), Fault> {
    folder(into)?;
    let path = into.join("kiln.json");
    let text = format!("{:#}\n", parameters(&case.spec));
    fs::write(&path, text).map_err(|source| Fault::Write { path, source })?;
    let path = into.join("firing.csv");
    let mut rows = vec![head(&case.spec)];
    fire(case, Begun::default(), |plant, planned| rows.push(row(plant, planned)));
    write(&path, &rows).map_err(|source| Fault::Row { path, source })
}

fn write(path: &Path, rows: &[Vec<String>]) -> csv::Result<()> {
    let mut table = Writer::from_path(path)?;
    for row in rows {
        table.write_record(row)?;
    }
    table.flush()?;
    Ok(())
}

fn parameters(spec: &KilnSpec) -> Value {
    let layer = |layer: &kiln_sim::Layer| {
        json!({
            "thickness_m": layer.thickness_m,
            "density_kg_per_m3": layer.brick.density_kg_per_m3,
            "conductivity_w_per_mk": layer.brick.conductivity,
            "heat_capacity_j_per_kgk": layer.brick.heat_capacity,
        })
    };
    let probe = |probe: &kiln_sim::ProbeSpec| json!({ "zone": probe.zone, "lag_s": probe.lag_s, "element_view": probe.element_view, "noise_c": probe.noise_c });
    json!({
        "zones": spec.zones,
        "chamber_l": spec.chamber_l,
        "lining": spec.lining.iter().map(layer).collect::<Vec<_>>(),
        "ware": { "mass_kg": spec.ware.mass_kg, "area_m2": spec.ware.area_m2, "core_lag_s": spec.ware.core_lag_s },
        "banks": spec.banks.iter().map(|bank| json!({ "zone": bank.zone, "rated_w": bank.rated_w })).collect::<Vec<_>>(),
        "wire": { "diameter_mm": spec.wire.diameter_mm, "surface_load_w_per_cm2": spec.wire.surface_load_w_per_cm2 },
        "rated_v": spec.rated_v,
        "mains_v": spec.mains_v,
        "probes": spec.probes.iter().map(probe).collect::<Vec<_>>(),
        "leak_w_per_k": spec.leak_w_per_k,
        "gaps_m2": spec.gaps_m2,
        "ambient_c": spec.ambient_c,
        "start_c": spec.start_c,
    })
}

fn head(spec: &KilnSpec) -> Vec<String> {
    let banks = 1..=spec.banks.len();
    let of_banks = banks.flat_map(|bank| [format!("power_{bank}_w"), format!("element_{bank}_c")]);
    let others = ["junction_c", "ware_surface_c", "ware_core_c", "hot_face_c", "outer_face_c"];
    ["part", "setpoint_c"]
        .map(str::to_owned)
        .into_iter()
        .chain(of_banks)
        .chain(others.map(str::to_owned))
        .collect()
}

/// The second just past: powers during it, temperatures at its end.
fn row(plant: &Plant, planned: Second) -> Vec<String> {
    let truth = plant.truth();
    let text = |at: Option<Celsius>| at.map(|at| at.c().to_string()).unwrap_or_default();
    let part = match planned.part {
        Part::Climb => "climb",
        Part::Soak => "soak",
        Part::Cooling => "cooling",
    };
    let mut cells = vec![part.to_owned(), planned.setpoint_c.to_string()];
    for bank in 0..plant.spec().banks.len() {
        cells.push(plant.power(bank).map(|power| power.w().to_string()).unwrap_or_default());
        cells.push(text(truth.element(bank)));
    }
    let temperatures = [
        truth.junction(0),
        truth.ware_surface(0),
        truth.ware_core(0),
        truth.hot_face(0),
        truth.outer_face(0),
    ];
    cells.extend(temperatures.map(text));
    cells
}
