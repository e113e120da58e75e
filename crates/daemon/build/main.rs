//! Names the build by the sources that decide: two builds of the same name decide alike, bit for bit.

mod locked;

use std::path::{Path, PathBuf};
use std::{env, fs, io};

/// Every crate whose code runs inside the controller's step.
const DECIDING: [&str; 2] = ["pyrometry", "control"];
/// Crates of others whose arithmetic ends up in a decision; `num-traits` is what `pid` counts with.
const OTHERS: [&str; 3] = ["libm", "num-traits", "pid"];

fn main() -> io::Result<()> {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let mut sources = Vec::new();
    for name in DECIDING {
        let folder = crates.join(name).join("src");
        println!("cargo::rerun-if-changed={}", folder.display());
        collect(&folder, &mut sources)?;
    }
    sources.sort_unstable();
    let mut hash = FNV_OFFSET;
    for source in &sources {
        mix(&mut hash, &fs::read(source)?);
    }
    let lock = crates.join("../Cargo.lock");
    println!("cargo::rerun-if-changed={}", lock.display());
    let others = locked::locked(&fs::read_to_string(lock)?, &OTHERS);
    mix(&mut hash, others.ok_or_else(|| io::Error::other("Cargo.lock lacks a deciding crate"))?.as_bytes());
    println!("cargo::rustc-env=SAGGAR_BUILD={}-{hash:016x}", env!("CARGO_PKG_VERSION"));
    Ok(())
}

fn collect(folder: &Path, sources: &mut Vec<PathBuf>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            collect(&path, sources)?;
        } else {
            sources.push(path);
        }
    }
    Ok(())
}

// FNV-1a, 64 bits (draft-eastlake-fnv): it tells builds apart, it guards nothing.
const FNV_OFFSET: u64 = 0xcbf2_9ce4_8422_2325;
const FNV_PRIME: u64 = 0x0000_0100_0000_01b3;

fn mix(hash: &mut u64, bytes: &[u8]) {
    for byte in bytes {
        *hash = (*hash ^ u64::from(*byte)).wrapping_mul(FNV_PRIME);
    }
}
