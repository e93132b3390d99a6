/**
 * What the register remembers beside the runs: kits, places, sessions, and which run belongs to which. One small file each,
 * so that two computers' registers merge by copying one folder over the other.
 */
import { z } from 'zod';
import type { DocumentKind } from './documentFile.ts';

/** Safe as a file name everywhere; what a person types to name a kit, a place, a session. */
export const keySchema = z.string().regex(/^[A-Za-z0-9][A-Za-z0-9._-]{0,79}$/);
const words = z.string().max(2000);
const sha256 = z.string().regex(/^[0-9a-f]{64}$/);

const kitSchema = z.object({
	format: z.literal('steerworthy-kit'),
	version: z.literal(1),
	key: keySchema,
	name: words.min(1),
	/** By what carries it: scope, processor, tablet, … */
	serialNumbers: z.record(z.string(), words),
	firmware: words,
	appVersion: words,
	tabletVersion: words,
	parts: z.array(words),
	notes: words,
	/** Ids of the runs that stand for the kit as it should be. */
	referenceRuns: z.array(z.string()),
	/** ISO 8601, for people and for telling which of two copies is later. */
	changedAt: z.string(),
});
export type Kit = z.infer<typeof kitSchema>;
export const kitKind: DocumentKind<Kit> = { format: 'steerworthy-kit', version: 1, schema: kitSchema };

const placeSchema = z.object({
	format: z.literal('steerworthy-place'),
	version: z.literal(1),
	key: keySchema,
	name: words.min(1),
	notes: words,
	changedAt: z.string(),
});
export type Place = z.infer<typeof placeSchema>;
export const placeKind: DocumentKind<Place> = {
	format: 'steerworthy-place',
	version: 1,
	schema: placeSchema,
};

/** One set-up of one kit in one place: everything between two times of power off. */
const sessionSchema = z.object({
	format: z.literal('steerworthy-session'),
	version: z.literal(1),
	key: keySchema,
	kit: keySchema,
	place: keySchema.nullable(),
	/** What was set differently, in words; null when nothing was. */
	setting: words.nullable(),
	/** Whether the kit was off, and its tablet, before it began. */
	poweredOffBefore: z.boolean(),
	by: words,
	notes: words,
	changedAt: z.string(),
});
export type Session = z.infer<typeof sessionSchema>;
export const sessionKind: DocumentKind<Session> = {
	format: 'steerworthy-session',
	version: 1,
	schema: sessionSchema,
};

/** A run entered in the register, with what it was on that day. */
const entrySchema = z.object({
	format: z.literal('steerworthy-entry'),
	version: z.literal(1),
	runId: z.string(),
	kit: keySchema,
	session: keySchema,
	/** SHA-256 of the run's seal, which holds that of every file. */
	sealSha256: sha256,
	/** SHA-256 of the observations, which no judging anew changes. */
	observationsSha256: sha256,
	enteredAt: z.string(),
});
export type Entry = z.infer<typeof entrySchema>;
export const entryKind: DocumentKind<Entry> = {
	format: 'steerworthy-entry',
	version: 1,
	schema: entrySchema,
};
