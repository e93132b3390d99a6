/** Who stands where, drawn in plain lines for a page that is shown or printed: no picture file, no colour that carries meaning. */
import { html, type SafePiece } from './htmlParts.ts';

/** Side view: horse and handler, the laptop where the scope's handle will be, the tablet where the clinician will look at it. */
export function yardDrawing(): SafePiece {
	return html`<svg class="stand" viewBox="0 0 640 250" role="img" aria-label="Left, horse and handler, marked 3. In the middle the laptop at the height of the scope's handle, marked 1. Right, the clinician with the tablet, marked 2. A dashed line from laptop to tablet: the air that is measured.">
<g fill="none" stroke="currentColor" stroke-width="3" stroke-linecap="round" stroke-linejoin="round">
<path d="M10 225H630"/>
<path d="M28 122q-14 20-8 50M36 112q10-14 40-12q40 6 76-2l28-34l14-6l22 26q2 8-6 9l-18-5l-20 42q0 12-12 16q-50 10-96 4q-22-4-28-44M48 150l-4 75M70 160l2 65M142 158l-2 67M160 150l4 75"/>
<circle cx="236" cy="98" r="12"/><path d="M236 110v60l-10 55M236 170l12 55M236 128l-24-34"/>
<path d="M330 128h62v-40h-62zM322 136h78l-8-8h-62zM361 136v89M340 225l21-30l21 30"/>
<circle cx="560" cy="82" r="12"/><path d="M560 94v72l-12 59M560 166l12 59M560 112l-34 14"/>
<path d="M500 100h26v38h-26z"/>
<path stroke-dasharray="8 9" d="M404 108H492"/>
</g>
<g font-size="20" font-weight="700" fill="currentColor" text-anchor="middle">
<text x="361" y="116">1</text><text x="513" y="126">2</text><text x="112" y="136">3</text>
</g>
<text x="448" y="92" font-size="16" fill="currentColor" text-anchor="middle">the air</text>
</svg>`;
}
