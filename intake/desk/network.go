package desk

import (
	"net"
	"net/netip"
	"slices"
)

// NetworkAddresses returns this computer's private IPv4 addresses (RFC 1918),
// sorted: the ones that a phone in the same house may reach.
func NetworkAddresses() []netip.Addr {
	found, err := net.InterfaceAddrs()
	if err != nil {
		return nil // the page then says that none was found
	}
	var private []netip.Addr
	for _, a := range found {
		prefix, err := netip.ParsePrefix(a.String())
		if err != nil {
			continue
		}
		if addr := prefix.Addr().Unmap(); addr.Is4() && addr.IsPrivate() {
			private = append(private, addr)
		}
	}
	slices.SortFunc(private, netip.Addr.Compare)
	return slices.Compact(private)
}
