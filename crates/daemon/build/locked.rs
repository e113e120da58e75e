//! Which versions of other crates `Cargo.lock` holds.

/// Name, version and checksum of these crates, in the lock file's own lines and order; `None` when
/// one of them is not there.
pub(crate) fn locked(lock: &str, names: &[&str]) -> Option<String> {
    let mut found = String::new();
    let mut missing: Vec<&str> = names.to_vec();
    for package in lock.split("[[package]]").skip(1) {
        let field = |key: &str| package.lines().find_map(|line| line.strip_prefix(key));
        let Some(name) = field("name = ").map(|name| name.trim_matches('"')) else { continue };
        if names.contains(&name) {
            missing.retain(|wanted| *wanted != name);
            let (version, checksum) = (field("version = ")?, field("checksum = ").unwrap_or_default());
            found.extend([name, " ", version, " ", checksum, "\n"]);
        }
    }
    missing.is_empty().then_some(found)
}
