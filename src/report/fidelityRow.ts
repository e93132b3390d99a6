/** One question of the fidelity section: asked, answered in plain words, and exactly. */
export type FidelityRow = readonly [question: string, answer: string, exact: string];
