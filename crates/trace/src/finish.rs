//! Compressing a trace whose firing has ended, and replacing files without ever losing one.

use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, BufReader, BufWriter, Write};
use std::path::{Path, PathBuf};

use flate2::Compression;
use flate2::write::GzEncoder;

/// Compresses `NAME.jsonl` to `NAME.jsonl.gz` and removes the plain file.
///
/// At every moment one of the two is whole on the disk. Serves also for traces that a killed
/// daemon left behind; repeating it after an interruption is harmless.
pub fn compress(plain: &Path) -> io::Result<PathBuf> {
    let packed = with_suffix(plain, ".gz");
    replace(&packed, |sink| -> io::Result<()> {
        let mut encoder = GzEncoder::new(sink, Compression::default());
        io::copy(&mut BufReader::with_capacity(1 << 16, File::open(plain)?), &mut encoder)?;
        encoder.finish()?;
        Ok(())
    })?;
    fs::remove_file(plain)?;
    sync_folder(plain)?;
    Ok(packed)
}

/// Writes a file beside `path` and puts it in its place only when it is whole and on the disk.
pub(crate) fn replace<T, E: From<io::Error>>(
    path: &Path,
    fill: impl FnOnce(&mut BufWriter<File>) -> Result<T, E>,
) -> Result<T, E> {
    let part = with_suffix(path, ".part");
    let filled = fill_part(&part, fill);
    if filled.is_err() {
        // The first failure is the one to tell; what is left of the part harms nobody.
        let _ = fs::remove_file(&part);
        return filled;
    }
    fs::rename(&part, path)?;
    sync_folder(path)?;
    filled
}

fn fill_part<T, E: From<io::Error>>(
    part: &Path,
    fill: impl FnOnce(&mut BufWriter<File>) -> Result<T, E>,
) -> Result<T, E> {
    let mut sink = BufWriter::new(File::create(part)?);
    let filled = fill(&mut sink)?;
    sink.flush()?;
    sink.get_ref().sync_all()?;
    Ok(filled)
}

/// Forces a file's directory entry to the disk.
pub(crate) fn sync_folder(path: &Path) -> io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    File::open(folder.unwrap_or(Path::new(".")))?.sync_all()
}

fn with_suffix(path: &Path, suffix: &str) -> PathBuf {
    let mut name = OsString::from(path);
    name.push(suffix);
    name.into()
}
