//! Trace files on a disk: begun, interrupted, finished.

mod common;

use std::fs;
use std::io::{self, Write};

use common::{BUILD, head, seen, stepper};
use trace::{Ending, TraceError, TraceFile, TraceReader, TraceWriter, compress, replay_with};

#[test]
fn a_finished_trace_is_compressed_and_reads_the_same() {
    let folder = tempfile::tempdir().expect("a folder");
    let plain = folder.path().join("firing.jsonl");
    let mut file = TraceFile::create(&plain, &head()).expect("a disk");
    for second in 0..60 {
        let seen = seen(second);
        file.step(&seen.observation(), &stepper(&seen.observation())).expect("a disk");
    }
    file.sync().expect("a disk");
    assert_eq!(fs::read(&plain).expect("readable while it grows"), common::trace_of(60));
    let packed = file.finish().expect("a disk");
    assert_eq!(packed, folder.path().join("firing.jsonl.gz"));
    assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 1, "only the compressed file is left");
    let reader = TraceReader::open(&packed).expect("a trace");
    assert!(replay_with(reader, BUILD, stepper, |_| {}).expect("readable").agrees());
}

#[test]
fn an_existing_trace_is_never_overwritten() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("firing.jsonl");
    let first = TraceFile::create(&path, &head()).expect("a disk");
    assert_eq!(first.path(), path);
    assert!(TraceFile::create(&path, &head()).is_err());
}

#[test]
fn a_head_that_cannot_be_written_leaves_no_file_behind() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("firing.jsonl");
    let nameless = trace::Head { probes: Vec::new(), ..head() };
    assert!(TraceFile::create(&path, &nameless).is_err());
    assert!(!path.exists());
}

#[test]
fn a_trace_left_behind_torn_is_compressed_as_it_is() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("firing.jsonl");
    let trace = common::trace_of(10);
    fs::write(&path, &trace[..trace.len() - 9]).expect("a disk");
    // An earlier attempt that was interrupted.
    fs::write(folder.path().join("firing.jsonl.gz.part"), b"half").expect("a disk");
    let packed = compress(&path).expect("a disk");
    let mut reader = TraceReader::open(&packed).expect("a trace");
    assert_eq!(reader.by_ref().filter_map(Result::ok).count(), 9);
    assert_eq!(reader.ending(), Some(Ending::Torn { line: 11 }));
    assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 1);
}

/// Takes so many bytes, then is full.
struct Disk {
    bytes: Vec<u8>,
    room: usize,
    writes: usize,
}

impl Write for Disk {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.writes += 1;
        let fits = bytes.len().min(self.room - self.bytes.len());
        if fits == 0 {
            return Err(io::ErrorKind::StorageFull.into());
        }
        self.bytes.extend(&bytes[..fits]);
        Ok(fits)
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn each_line_is_one_write() {
    let mut writer =
        TraceWriter::new(Disk { bytes: Vec::new(), room: 1 << 20, writes: 0 }, &head()).expect("room");
    for second in 0..20 {
        let seen = seen(second);
        writer.step(&seen.observation(), &stepper(&seen.observation())).expect("room");
    }
    assert_eq!(writer.into_inner().writes, 21);
}

#[test]
fn nothing_is_written_behind_a_line_that_a_full_disk_cut_short() {
    let room = common::trace_of(3).len() - 20;
    let mut writer = TraceWriter::new(Disk { bytes: Vec::new(), room, writes: 0 }, &head()).expect("room");
    let mut step = |second| {
        let seen = seen(second);
        writer.step(&seen.observation(), &stepper(&seen.observation()))
    };
    assert!(step(0).and_then(|()| step(1)).is_ok());
    assert!(matches!(step(2), Err(TraceError::Io(_))));
    assert!(matches!(step(3), Err(TraceError::Spoilt)));
    let disk = writer.into_inner();
    let mut reader = TraceReader::new(&disk.bytes[..]).expect("a trace");
    assert_eq!(reader.by_ref().filter_map(Result::ok).count(), 2);
    assert_eq!(reader.ending(), Some(Ending::Torn { line: 4 }));
}

#[test]
fn more_orders_than_a_step_takes_are_refused_and_spoil_nothing() {
    let mut writer = TraceWriter::new(Vec::new(), &head()).expect("memory");
    let seen = seen(0);
    let decision = stepper(&seen.observation());
    let orders = [control::Order::Stay; control::ORDERS_MOST + 1];
    let refused = writer.step(&control::Observation { orders: &orders, ..seen.observation() }, &decision);
    assert!(matches!(refused, Err(TraceError::TooMuchSeen(_))));
    writer.step(&seen.observation(), &decision).expect("memory");
    assert_eq!(writer.into_inner(), common::trace_of(1));
}
