/**
 * The ways on which a tablet could reach this computer, by the system's own names: real ones first, those of virtual
 * machines, containers and tunnels after them, this computer alone last. IPv4 only: no tablet is without it, and an
 * IPv6 link address cannot be opened in most tablet browsers.
 */
import type { NetworkInterfaceInfo } from 'node:os';

export type NetworkWay = {
	readonly name: string;
	readonly address: string;
	readonly kind: 'real' | 'virtual' | 'thisComputer';
};

/** Name parts by which systems and programs call interfaces that no tablet in the room is on. */
const VIRTUAL =
	/^(docker|br-|veth|virbr|vmnet|vboxnet|tun|tap|utun|wg|zt|bridge|awdl|llw|lxc|cni|flannel|podman|ppp|ipsec)|vethernet|hyper-?v|virtual|vmware|tailscale|loopback|vpn/i;
/** Self-given by a system that got no address; a tablet on the same cable-less air rarely has one too. */
const SELF_GIVEN = /^169\.254\./;
const ORDER = { real: 0, virtual: 1, thisComputer: 2 };

/** `interfaces` as `os.networkInterfaces()` gives them. */
export function networkWays(
	interfaces: Readonly<Record<string, readonly NetworkInterfaceInfo[] | undefined>>,
): NetworkWay[] {
	const ways = Object.entries(interfaces).flatMap(([name, addresses = []]) =>
		addresses
			.filter(({ family, address }) => family === 'IPv4' && !SELF_GIVEN.test(address))
			.map(({ address, internal }): NetworkWay => ({ name, address, kind: kindOf(name, internal) })),
	);
	return ways.sort((a, b) => ORDER[a.kind] - ORDER[b.kind] || a.name.localeCompare(b.name, 'en'));
}

function kindOf(name: string, internal: boolean): NetworkWay['kind'] {
	if (internal) return 'thisComputer';
	return VIRTUAL.test(name) ? 'virtual' : 'real';
}
