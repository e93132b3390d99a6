/** Opening a port, with a named failure instead of a code number of the system. */
import type { Server } from 'node:net';
import { OutsideFailure } from '../failure.ts';

/** Listens on `host:port` (0: any free one) and gives the port; throws `OutsideFailure` (`portInUse`, `portRefused`). */
export function listen(server: Server, port: number, host: string): Promise<number> {
	return new Promise((resolve, reject) => {
		const refuse = (error: NodeJS.ErrnoException) => reject(listenFailure(error, port));
		server.once('error', refuse);
		server.listen(port, host, () => {
			server.off('error', refuse);
			const address = server.address();
			resolve(typeof address === 'object' && address !== null ? address.port : port);
		});
	});
}

function listenFailure(error: NodeJS.ErrnoException, port: number): OutsideFailure {
	if (error.code === 'EADDRINUSE')
		return new OutsideFailure(
			'portInUse',
			`Port ${port} is in use by another program.`,
			'Close that program, or choose another port.',
			{ cause: error },
		);
	return new OutsideFailure(
		'portRefused',
		`Port ${port} could not be opened (${error.code ?? error.message}).`,
		'Choose another port, above 1023.',
		{ cause: error },
	);
}
