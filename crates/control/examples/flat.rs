#[path="../tests/common/mod.rs"] mod common;
use common::*; use control::*;
fn main(){ let to:f64=std::env::args().nth(1).unwrap().parse().unwrap();
 let mut b=Bench::new(&kiln_sim::KilnSpec::default(),30.,&[flat_out(to,20)]);
 for t in 0..40000{ let d=b.step(&[]); let f=b.plant.truth(); if t%20==0 && (t<300 || d.phase!=Phase::Climbing|| d.chamber.unwrap().c()>to-60.){println!("{t} {:?} sp {:.1?} T {:.2} duty {:.3} el {:.0} ware {:.0}",d.phase,d.setpoint.map(|s|s.c()),b.true_junction_c(),d.duty[0].ratio(),f.element(0).unwrap().c(),f.ware_core(0).unwrap().c());} if d.trip.is_some()||d.phase==Phase::Cooling{println!("{:?}",d.trip);break;} }
}
