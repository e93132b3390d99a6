/**
 * Methods and sources as a report prints them. `basis` says how far each may be leant on, by the tags of the project's
 * list of outside facts: published, published second hand, from memory, own derivation, common practice.
 */
import { DECISION_RISK } from './risk.ts';

type Basis =
	| 'published'
	| 'published, second hand'
	| 'published abstract'
	| 'from memory'
	| 'own derivation'
	| 'own proposal'
	| 'common practice, no source';

export type SourceNote = { readonly about: string; readonly text: string; readonly basis: Basis };

export const METHODS: readonly SourceNote[] = [
	{
		about: 'Quantiles',
		text: 'Type 7 (linear between order statistics) for lists of pictures; for curves over time, the least level that is exceeded for no more than the stated share of observed time.',
		basis: 'common practice, no source',
	},
	{
		about: 'Mean delay',
		text: 'Weighted by content: mean picture age less sum(G²) / (2 sum(G)), G the step between the pictures shown, at the source. Exact under jitter, losses and missed refreshes.',
		basis: 'own derivation',
	},
	{
		about: 'Picture age',
		text: 'Weighted by time on the curve, not by picture, so a freeze counts for as long as it lasts.',
		basis: 'own derivation',
	},
	{
		about: 'Bound of a share of time',
		text: 'Episode bound: binomial bound at an effective number of readings, taken from how readings hang together and how long bad spells last, with two more of the largest cluster than were seen (the gamma bound of Fay and Feuer 1997 with one more: from memory). No bound for a 5 % share below 59 effective readings, nor where the run is too short for the spells it is to speak for.',
		basis: 'own derivation',
	},
	{
		about: 'How often an answer is wrong',
		text: DECISION_RISK,
		basis: 'own derivation',
	},
	{
		about: 'Rig’s uncertainty',
		text: 'Only what is one draw per run joins the bound, in quadrature: bound = reading + sqrt(r² + (1.645 u)²); u of a rectangular error is its half-width over sqrt(3) (JCGM 100).',
		basis: 'from memory',
	},
	{
		about: 'Rare events',
		text: 'Counts over observed time with exact Poisson bounds, 95 % one-sided; never "none seen, so fine".',
		basis: 'from memory',
	},
	{
		about: 'Lost pictures',
		text: 'Wilson bound (Wilson 1927; cases of Newcombe 1998) at the effective size that runs of losses leave.',
		basis: 'from memory',
	},
	{
		about: 'Delay variation',
		text: 'P95 − P5; beside it PDV, delay less the least delay (RFC 5481), IPDV, neighbours’ difference (RFC 3393), and interarrival jitter (RFC 3550, 6.4.1). They do not agree and each is named.',
		basis: 'published, second hand',
	},
	{
		about: 'Clock',
		text: 'Four-stamp exchanges, the samples of least delay, a line for drift; offset error is at most half the least round trip (RFC 5905, Cristian).',
		basis: 'from memory',
	},
	{
		about: 'Freeze',
		text: 'W3C webrtc-stats (2025-09-25): time between two shown pictures of at least max(3 avg, avg + 150 ms); pause: over 5 s. The averaging rule used stands beside the count.',
		basis: 'published',
	},
	{
		about: 'Colour shift',
		text: 'CIEDE2000 (Sharma, Wu, Dalal, Color Res Appl 30(1), 2005), D65, 2 degree, kL = kC = kH = 1.',
		basis: 'published',
	},
	{
		about: 'Likeness',
		text: 'PSNR and SSIM (Wang, Bovik, Sheikh, Simoncelli 2004) on luma, the variant named; difference pictures count pixels whose difference can be seen.',
		basis: 'published, second hand',
	},
];

export const LIMIT_SOURCES: readonly SourceNote[] = [
	{
		about: 'XU14',
		text: 'Xu et al., Surg Endosc 28(9), 2014. Robotic simulator, 16 students: up to 200 ms ideal, 300 suitable.',
		basis: 'published abstract',
	},
	{
		about: 'NAN22',
		text: 'Nankaku et al., PLoS ONE 17(10), 2022. Assist robot, moving scene, 34 people: up to 100 ms acceptable.',
		basis: 'published abstract',
	},
	{
		about: 'KUM17',
		text: 'Kumcu et al., Int J Med Robot, 2017. Laparoscopy trainer: 105 ms added to the rig’s own already hurts.',
		basis: 'published abstract',
	},
	{
		about: 'ANV05, FAB00',
		text: 'Anvari et al. 2005: tasks completed at 500 ms, with more errors and time. Fabrizio et al. 2000: surgeons compensate under 700 ms.',
		basis: 'published abstract',
	},
	{
		about: 'PAV11, PAV10',
		text: 'Pavlovych and Stuerzlinger: following a target suffers from jitter over 40 ms and dropouts over 10 % (2011); moderate jitter mostly harmless in pointing (2010). They conflict.',
		basis: 'published abstract',
	},
	{
		about: 'Picture rate',
		text: 'Chen and Thropp 2007: about 15 pictures a second is a threshold for many tasks.',
		basis: 'from memory',
	},
	{
		about: 'Lost pictures',
		text: 'ITU-T G.1010: 1 % for video. It speaks of conversation, not of hand and eye.',
		basis: 'from memory',
	},
	{
		about: 'Colour limits',
		text: 'Dental work, side by side: shifts of 1.8 to 2.25 are taken as acceptable. Nearest medical evidence there is; it is about teeth.',
		basis: 'published abstract',
	},
	{
		about: 'Half a second',
		text: 'No steering beyond 500 ms, even as a median.',
		basis: 'common practice, no source',
	},
	{
		about: 'Freezes, gaps, pauses',
		text: 'How many are allowed in a minute.',
		basis: 'own proposal',
	},
];
