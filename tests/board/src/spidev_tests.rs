use std::time::Duration;

use super::*;
use crate::chip::Terminals;

/// Says back what it heard, one more in each byte, and remembers each selection.
#[derive(Default)]
struct Counting {
    selections: Vec<(Clocking, Vec<u8>)>,
}

impl Chip for Counting {
    fn exchange(&mut self, clocking: Clocking, sent: &[u8]) -> Vec<u8> {
        self.selections.push((clocking, sent.to_vec()));
        sent.iter().map(|byte| byte + 1).collect()
    }
    fn pass(&mut self, _span: Duration, _terminals: &Terminals) {}
    fn wake(&mut self) {}
}

/// A caller's memory, and a kernel that copies between it and the device.
fn kernel(device: &mut Spidev, chip: &mut dyn Chip, number: u32, memory: &mut [u8]) -> Result<i32, i32> {
    let place = |span: &Span| usize::try_from(span.base - 1).expect("small");
    let range = |span: &Span| place(span)..place(span) + usize::try_from(span.len).expect("small");
    let (mut input, mut output) = (Vec::new(), Vec::new());
    for _round in 0..5 {
        let copied: Vec<u8> = input.iter().flat_map(|span| memory[range(span)].to_vec()).collect();
        let output_len = output.iter().map(|span| range(span).len()).sum();
        let call = Call { number, argument: 1, input: &copied, output_len };
        match device.call(chip, &call) {
            Answer::Again { input: more, output: room } => (input, output) = (more, room),
            Answer::Failed(error) => return Err(error),
            Answer::Done { result, output: bytes } => {
                let mut bytes = bytes.into_iter();
                for span in &output {
                    memory[range(span)].fill_with(|| bytes.next().expect("as much as was asked for"));
                }
                return Ok(result);
            }
        }
    }
    panic!("the device asks again and again");
}

/// From `linux/spi/spidev.h`, as its macros come out: `_IOW('k', 4, __u32)` and so on.
const WR_MODE: u32 = 0x4001_6B01;
const RD_MODE: u32 = 0x8001_6B01;
const WR_BITS: u32 = 0x4001_6B03;
const WR_SPEED: u32 = 0x4004_6B04;
const RD_SPEED: u32 = 0x8004_6B04;
const MESSAGE_1: u32 = 0x4020_6B00;
const MESSAGE_2: u32 = 0x4040_6B00;

/// A `spi_ioc_transfer`; buffers by their place in the memory, counted from 1.
fn transfer(sent: u64, received: u64, len: u32, deselects: bool) -> [u8; TRANSFER] {
    let mut bytes = [0; TRANSFER];
    bytes[..8].copy_from_slice(&sent.to_ne_bytes());
    bytes[8..16].copy_from_slice(&received.to_ne_bytes());
    bytes[16..20].copy_from_slice(&len.to_ne_bytes());
    bytes[27] = u8::from(deselects);
    bytes
}

#[test]
fn settings_are_kept_and_read_back() {
    let (mut device, mut chip) = (Spidev::default(), Counting::default());
    assert_eq!(kernel(&mut device, &mut chip, WR_MODE, &mut [1]), Ok(0));
    assert_eq!(kernel(&mut device, &mut chip, WR_SPEED, &mut 500_000_u32.to_ne_bytes()), Ok(0));
    let (mut mode, mut hertz) = ([0], [0; 4]);
    assert_eq!(kernel(&mut device, &mut chip, RD_MODE, &mut mode), Ok(0));
    assert_eq!(kernel(&mut device, &mut chip, RD_SPEED, &mut hertz), Ok(0));
    assert_eq!((mode, u32::from_ne_bytes(hertz)), ([1], 500_000));
}

#[test]
fn one_transfer_in_place_goes_through_the_chip_and_back() {
    let (mut device, mut chip) = (Spidev::default(), Counting::default());
    kernel(&mut device, &mut chip, WR_MODE, &mut [3]).expect("set");
    let mut memory = [&transfer(33, 33, 3, false)[..], &[10, 20, 30]].concat();
    assert_eq!(kernel(&mut device, &mut chip, MESSAGE_1, &mut memory), Ok(3));
    assert_eq!(memory[32..], [11, 21, 31]);
    assert_eq!(chip.selections, [(Clocking { mode: 3, hertz: 5_000_000 }, vec![10, 20, 30])]);
}

#[test]
fn a_message_is_one_selection_until_a_transfer_lets_go() {
    for (deselects, selections) in [(false, vec![vec![7, 8, 0, 0]]), (true, vec![vec![7, 8], vec![0, 0]])] {
        let (mut device, mut chip) = (Spidev::default(), Counting::default());
        let mut memory =
            [&transfer(65, 0, 2, deselects)[..], &transfer(0, 67, 2, false), &[7, 8, 99, 99]].concat();
        assert_eq!(kernel(&mut device, &mut chip, MESSAGE_2, &mut memory), Ok(4));
        assert_eq!(memory[64..], [7, 8, 1, 1]);
        assert_eq!(chip.selections.into_iter().map(|(_, sent)| sent).collect::<Vec<_>>(), selections);
    }
}

#[test]
fn what_the_kernel_refuses_is_refused() {
    let (mut device, mut chip) = (Spidev::default(), Counting::default());
    assert_eq!(kernel(&mut device, &mut chip, 0x4001_6C01, &mut [0]), Err(ENOTTY));
    let mut long = transfer(0, 0, 4097, false);
    assert_eq!(kernel(&mut device, &mut chip, MESSAGE_1, &mut long), Err(EMSGSIZE));
    kernel(&mut device, &mut chip, WR_BITS, &mut [16]).expect("set");
    assert_eq!(kernel(&mut device, &mut chip, MESSAGE_1, &mut transfer(0, 0, 0, false)), Err(EINVAL));
}
