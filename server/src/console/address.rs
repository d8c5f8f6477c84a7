//! Which address people have to type.

use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};

/// The address under which other machines reach a host that listens at `listening`.
pub fn to_type(listening: SocketAddr) -> SocketAddr {
    if !listening.ip().is_unspecified() {
        return listening;
    }
    let ip = own_ip().unwrap_or(IpAddr::V4(Ipv4Addr::LOCALHOST));
    SocketAddr::new(ip, listening.port())
}

/// The address this machine would use to reach others. Connecting a datagram socket chooses the route and sends
/// nothing; the address asked for is reserved for documentation (RFC 5737).
fn own_ip() -> Option<IpAddr> {
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).ok()?;
    let ip = socket.local_addr().ok()?.ip();
    (!ip.is_unspecified()).then_some(ip)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_given_address_is_shown_as_it_is_and_any_becomes_one_that_can_be_typed() {
        let given = SocketAddr::from(([127, 0, 0, 1], 4177));
        assert_eq!(to_type(given), given);
        let any = to_type(SocketAddr::from(([0, 0, 0, 0], 4177)));
        assert!(!any.ip().is_unspecified() && any.port() == 4177);
    }
}
