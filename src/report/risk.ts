/**
 * How often answers, comparison and acceptance go wrong, as their reports say it. Figures of `npm run bench -- risk`, part sessionRisk: 1,000
 * simulations a row, seed 31000; they are written here by hand from that bench, and it fails when its goals are missed.
 */
const AGAIN = 'Made again with: npm run bench -- risk.';

/** The chance is computed: exp(-310 s / 300 s). Whole answers' shares are the bench's to print (part decisionRisk). */
export const DECISION_RISK = `A line is decided by its own 95 % bound, and "steer" needs all of them, so a wrong "yes" is rarer than a wrong line, and an open answer more frequent. A kit that freezes once in 5 min shows no freeze in a verdict run, and so passes that line, in 36 % of runs. ${AGAIN} It judges 2,870 simulated kits with a known distance from the limit (independent and correlated delays, bursts, spells, periodic hold-ups, lost pictures, freezes) the way every run is judged, and prints wrong "steer", wrong "no" and undetermined by distance, kind and profile. Not covered: real radios, displays and codecs, the optical reading, several disturbances at once, a bench that is itself late, a person who runs again until the answer pleases.`;

export const ORDER_RISK = `How often an order is wrong: among four simulated kits with three sessions each, one step of 0.1 to 3 standard deviations of a session apart, a wrong order was stated as certain in at most 0.3 % of 1,000 simulations a row, with normal and heavy-tailed sessions. Not covered: kits that drift within the day, sessions that are not independent, a place that favours one kit. ${AGAIN}`;

export const ACCEPTANCE_RISK = `How often an acceptance is wrong: with three sessions before and three after, a simulated kit that was worse than its tolerance by a tenth was accepted in at most 1.0 % of 1,000 simulations a row; an unchanged one in 95 % or more while its sessions scatter by up to 6 ms, in 78 % at 12 ms, and in 40 % at 12 ms with one session in ten far out (else it says "not enough evidence"). Not covered: sessions that are not independent, a form that does not say the truth, what is not measured. ${AGAIN}`;
