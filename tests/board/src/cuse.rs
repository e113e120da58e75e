//! A character device that this program answers, by the kernel's `cuse`.
//!
//! The protocol is the kernel's for file systems in programs (`linux/fuse.h`, version 7), over
//! `/dev/cuse`: a request is read, its answer written. Numbers stand as the machine has them. Calls are
//! unrestricted: the kernel copies whatever pieces of the caller's memory this side names, and asks again.

use std::fs::{File, OpenOptions};
use std::io::{Error, ErrorKind, Read, Result, Write};

use crate::spidev::{Answer, Call, Span};

const VERSION: u32 = 7;
const MINOR: u32 = 36; // what is used here is older; the kernel takes the lesser of both
const UNRESTRICTED: u32 = 1 << 0;
const AGAIN: u32 = 1 << 2;

const OPEN: u32 = 14;
const RELEASE: u32 = 18;
const INTERRUPT: u32 = 36;
const CALL: u32 = 39;
const BEGIN: u32 = 4096;

const ENOSYS: i32 = 38; // asm-generic/errno.h

/// `fuse_in_header` and `fuse_ioctl_in`.
const HEAD: usize = 40;
const CALL_HEAD: usize = 32;
/// More than any request here: a message's bytes with their heads.
const REQUEST_MOST: usize = 256 * 1024;
/// The greatest read and write that the kernel may ask; neither is used.
const TRANSFER_MOST: u32 = 4096;

/// The device.
#[derive(Debug)]
pub struct Device {
    kernel: File,
    buffer: Vec<u8>,
}

/// A request's head.
struct Head {
    kind: u32,
    id: u64,
}

impl Device {
    /// Makes `/dev/NAME`.
    pub fn make(name: &str) -> Result<Self> {
        let kernel = OpenOptions::new().read(true).write(true).open("/dev/cuse")?;
        let mut device = Self { kernel, buffer: vec![0; REQUEST_MOST] };
        let (head, _) = device.request()?;
        if head.kind != BEGIN {
            return Err(Error::new(ErrorKind::InvalidData, format!("the kernel began with {}", head.kind)));
        }
        let mut body = Vec::new();
        for word in [VERSION, MINOR, 0, UNRESTRICTED, TRANSFER_MOST, TRANSFER_MOST, 0, 0] {
            body.extend(word.to_ne_bytes());
        }
        body.extend([0; 40]);
        body.extend(format!("DEVNAME={name}\0").bytes());
        device.reply(&head, 0, &body)?;
        Ok(device)
    }

    /// Answers until the kernel ends it.
    pub fn serve(&mut self, mut answer: impl FnMut(&Call<'_>) -> Answer) -> Result<()> {
        loop {
            let (head, len) = self.request()?;
            match head.kind {
                // A handle, flags and padding, all nothing: every opener is the same.
                OPEN => self.reply(&head, 0, &[0; 16])?,
                RELEASE => self.reply(&head, 0, &[])?,
                INTERRUPT => {} // the call it means is answered in its turn, at once
                CALL if len >= HEAD + CALL_HEAD => {
                    let answered = answer(&self.call(len));
                    self.reply_call(&head, answered)?;
                }
                _ => self.reply(&head, ENOSYS, &[])?,
            }
        }
    }

    fn request(&mut self) -> Result<(Head, usize)> {
        let len = self.kernel.read(&mut self.buffer)?;
        if len < HEAD {
            return Err(Error::new(ErrorKind::UnexpectedEof, "the kernel asked for nothing"));
        }
        Ok((Head { kind: self.word(4), id: self.wide(8) }, len))
    }

    fn call(&self, len: usize) -> Call<'_> {
        Call {
            number: self.word(HEAD + 12),
            argument: self.wide(HEAD + 16),
            input: &self.buffer[HEAD + CALL_HEAD..len],
            output_len: usize::try_from(self.word(HEAD + 28)).unwrap_or(usize::MAX),
        }
    }

    fn reply_call(&mut self, head: &Head, answer: Answer) -> Result<()> {
        let mut body = Vec::new();
        let mut begin = |result: i32, flags: u32, input: usize, output: usize| {
            body.extend(result.to_ne_bytes());
            for word in [flags, count(input), count(output)] {
                body.extend(word.to_ne_bytes());
            }
        };
        match answer {
            Answer::Failed(error) => return self.reply(head, error, &[]),
            Answer::Done { result, output } => {
                begin(result, 0, 0, 0);
                body.extend(output);
            }
            Answer::Again { input, output } => {
                begin(0, AGAIN, input.len(), output.len());
                for Span { base, len } in input.into_iter().chain(output) {
                    body.extend(base.to_ne_bytes());
                    body.extend(len.to_ne_bytes());
                }
            }
        }
        self.reply(head, 0, &body)
    }

    fn reply(&mut self, head: &Head, error: i32, body: &[u8]) -> Result<()> {
        const REPLY_HEAD: usize = 16;
        let mut bytes = Vec::with_capacity(REPLY_HEAD + body.len());
        bytes.extend(count(REPLY_HEAD + body.len()).to_ne_bytes());
        bytes.extend((-error).to_ne_bytes());
        bytes.extend(head.id.to_ne_bytes());
        bytes.extend(body);
        match self.kernel.write(&bytes) {
            // Who asked is gone.
            Err(why) if why.kind() == ErrorKind::NotFound => Ok(()),
            Err(why) => Err(why),
            Ok(_whole) => Ok(()),
        }
    }

    fn word(&self, at: usize) -> u32 {
        u32::from_ne_bytes(std::array::from_fn(|byte| self.buffer[at + byte]))
    }

    fn wide(&self, at: usize) -> u64 {
        u64::from_ne_bytes(std::array::from_fn(|byte| self.buffer[at + byte]))
    }
}

fn count(of: usize) -> u32 {
    u32::try_from(of).unwrap_or(u32::MAX)
}
