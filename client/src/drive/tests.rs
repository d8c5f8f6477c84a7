use super::*;
use tokio::io::DuplexStream;

#[tokio::test(start_paused = true)]
async fn a_sleep_is_known_before_anything_else_is_done_by_the_clock() {
    let nobody = || std::future::pending::<std::io::Result<DuplexStream>>();
    let mut seat = Seat::open(nobody, Options::new("Ann", "nowhere")).unwrap();
    seat.clock().sleep(30_000_000, 29_000_000);
    seat.handle(Event::Link(LinkEvent::Dialling(2)));
    assert_eq!(seat.app().clock.slept_us(), 30_000_000);
    let said = |seat: &Seat| seat.said.iter().filter(|s| s.what == Happening::Slept { for_s: 30 }).count();
    assert_eq!(said(&seat), 1);
    seat.handle(Event::Tick);
    assert_eq!(said(&seat), 1, "said once");
}
