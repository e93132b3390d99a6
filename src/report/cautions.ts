/**
 * What the tool must say about itself and about the work around it, whole, in short lines (design: cautions).
 * The short form is what a terminal shows; a report shows all of it.
 */
type CautionGroup = { readonly title: string; readonly lines: readonly string[] };

/** Said in every form of every result. */
export const LIMITS_CAUTION =
	'The limits come from studies of other tasks (pointing, laparoscopy, robots); none was done with a flexible endoscope in a horse.';

export const SHORT_CAUTIONS: readonly string[] = [
	LIMITS_CAUTION,
	'This measures a picture link. It is not a medical device and no safety, leak or reprocessing test.',
	'Test before sedation, never in the animal. A home result does not carry to a yard, nor this morning’s to this afternoon.',
	'A frozen picture looks like a still one. Unsure: move the wheel slightly. Frozen: stop advancing, hands light, wait; withdraw only by your own protocol, never against resistance.',
];

export const CAUTIONS: readonly CautionGroup[] = [
	{
		title: 'What this is, and is not',
		lines: [
			'It measures a picture link. This checks the picture link, not the horse.',
			'It is not a medical device, and not an electrical-safety, leak or reprocessing test.',
			'It is no substitute for the maker’s instructions or for licensed practice. Local rules come first.',
			'After a repair, the maker’s safety, leak, channel, bending and light tests remain to be done.',
			LIMITS_CAUTION,
		],
	},
	{
		title: 'When and where it holds',
		lines: [
			'Test before sedation, on the bench or in the yard; never in the animal.',
			'A home result does not carry to a yard, nor this morning’s to this afternoon.',
			'Testing spends the kit’s battery: charge it again before the exam.',
		],
	},
	{
		title: 'If the picture freezes',
		lines: [
			'A frozen picture looks like a still one. If unsure, move the wheel slightly.',
			'Frozen: stop advancing, hands light, wait.',
			'Withdraw only by your own protocol, never against resistance.',
		],
	},
	{
		title: 'The scope',
		lines: [
			'Only a scope that is reprocessed; never between two horses. Leak test first.',
			'Afterwards clean and reprocess by the maker’s steps; wipe phone, tablet, laptop and sleeve.',
			'Do not coil the tube tightly.',
			'The lamp can hurt eyes and burns: not into anyone’s eyes; not left on in a sleeve, on film or on skin.',
			'Lamp at its lowest for a screen; never lens on glass.',
		],
	},
	{
		title: 'The card and the yard',
		lines: [
			'The test card flickers. The published flash rule is kept for its displayed size; still, keep it out of the horse’s and onlookers’ sight. Stop always works.',
			'No leads or tripods within kicking reach; no mains in the wet.',
			'Never switch off someone’s fence without the owner.',
		],
	},
];
