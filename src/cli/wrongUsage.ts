/** The command was used wrongly in a way that only shows after its options were read. Exit code 2. */
export class WrongUsage extends Error {
	override readonly name = 'WrongUsage';
}
