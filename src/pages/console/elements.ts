/** The page's elements by name, and the few ways in which their content is replaced. Text only: nothing is ever read as HTML. */

export function element<T extends Element>(id: string, kind: new () => T): T {
	const found = document.getElementById(id);
	if (!(found instanceof kind)) throw new TypeError(`the page has no ${kind.name} called ${id}`);
	return found;
}

export function setText(id: string, text: string): void {
	const target = element(id, HTMLElement);
	if (target.textContent !== text) target.textContent = text;
}

export function setHidden(id: string, hidden: boolean): void {
	element(id, HTMLElement).hidden = hidden;
}

export function make<K extends keyof HTMLElementTagNameMap>(
	tag: K,
	text: string,
	className = '',
): HTMLElementTagNameMap[K] {
	const made = document.createElement(tag);
	made.textContent = text;
	if (className !== '') made.className = className;
	return made;
}

/** Replaces the children only where their text or class differs, so that a reader is not told the same again. */
export function fill(id: string, children: readonly HTMLElement[]): void {
	const target = element(id, HTMLElement);
	const looks = (list: Iterable<Element>): string => [...list].map((child) => child.outerHTML).join('');
	if (looks(target.children) !== looks(children)) target.replaceChildren(...children);
}

export function items(texts: readonly string[]): HTMLElement[] {
	return texts.map((text) => make('li', text));
}

export function terms(rows: readonly (readonly [string, string])[]): HTMLElement[] {
	return rows.map(([term, detail]) => {
		const row = document.createElement('div');
		row.append(make('dt', term), make('dd', detail));
		return row;
	});
}
