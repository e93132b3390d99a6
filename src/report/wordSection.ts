/** A heading and its paragraphs, whatever they are shown on. */
export type Section = { readonly title: string; readonly items: readonly string[] };
