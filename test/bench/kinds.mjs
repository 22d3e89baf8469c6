/** What each kind of module costs, and how the cost of a patch grows with its modules. */

import { Renderer } from '../../dist/engine/renderer.js';
import { KINDS } from '../../dist/modules/kinds.js';
import { checked } from './patches.mjs';

export const title =
  'Modules: ns a sample each in its own example at 48 kHz, and growth with their number';

const RATE = 48_000;
const BLOCK = 128;
/** Samples before the clock runs: V8 has then compiled what it will of the WebAssembly. */
const WARM = 10 * RATE;
const CHUNK = RATE / 2;
const CHUNKS = 40;

export function run() {
  const rows = KINDS.filter(({ create }) => create !== undefined)
    .map((definition) => ({ kind: definition.kind, cost: costOfKind(definition) }))
    .sort((a, b) => b.cost - a.cost)
    .map(({ kind, cost }) => ({ what: kind, value: cost, unit: 'ns/sample' }));
  const few = perModule(8);
  const growth = [40, 120, 400].map((count) => ({
    what: `cost of a module among ${count} : among 8`,
    value: perModule(count) / few,
    limit: 1.25,
  }));
  const feedback = {
    what: 'a patch with a feedback cable : the same without it',
    value: nsPerSample(fed(true), []) / nsPerSample(fed(false), []),
    limit: 1.6,
  };
  return [...rows, ...growth, feedback];
}

/** The module alone in a loop of its own, fed as in its example. */
function costOfKind(definition) {
  const patch = checked(definition.example);
  const module = patch.modules.find((each) => each.definition === definition);
  // All else in the patch but what is needed to hear it is left as it is; the difference of two
  // renders, with the module once and with it twice, is what one costs.
  const twin = { ...module, name: `${module.name}-twin` };
  const cables = patch.cables.flatMap((cable) => {
    const end = (ref) => (ref.module === module.name ? { ...ref, module: twin.name } : ref);
    return cable.to.module === module.name ? [cable, { ...cable, to: end(cable.to) }] : [cable];
  });
  const probes = patch.cables
    .filter(({ from }) => from.module === module.name)
    .map(({ from }) => ({ ...from, module: twin.name }));
  const once = nsPerSample(patch, []);
  const twice = nsPerSample({ ...patch, modules: [...patch.modules, twin], cables }, probes);
  return Math.max(0, twice - once);
}

function perModule(count) {
  const chains = Math.round(count / 4);
  const list = Array.from({ length: chains }, (_, i) => i);
  const mixers = Math.ceil(chains / 8);
  const patch = checked(`title: ${count} modules
modules:
${list.map((i) => `  n${i}: { kind: noise }\n  f${i}: { kind: filter }\n  s${i}: { kind: slew, rise: 1 ms, fall: 1 ms }\n  a${i}: { kind: attenuator, level: 50 % }`).join('\n')}
${Array.from({ length: mixers }, (_, i) => `  x${i}: { kind: mixer }`).join('\n')}
  out: { kind: output }
cables:
${list.map((i) => `  - n${i}.white -> f${i}.in\n  - f${i}.low -> s${i}.in\n  - s${i}.out -> a${i}.in\n  - a${i}.out -> x${Math.floor(i / 8)}.in-${(i % 8) + 1}`).join('\n')}
${Array.from({ length: mixers }, (_, i) => (i === 0 ? '  - x0.out -> out.left' : ''))
  .filter(Boolean)
  .join('\n')}
`);
  return nsPerSample(patch, []) / (chains * 4 + mixers);
}

/** A filtered noise whose end comes back to its beginning, or a steady voltage in its place. */
function fed(back) {
  return checked(`title: Feedback
modules:
  hiss: { kind: noise }
  sum: { kind: mixer, level-2: 40 % }
  tone: { kind: filter }
  lag: { kind: slew, rise: 1 ms, fall: 1 ms }
  end: { kind: attenuator, level: 50 % }
  split: { kind: multiple, jacks: 3 }
  steady: { kind: attenuator, level: 0 %, offset: 1 V }
  out: { kind: output }
cables:
  - hiss.white -> sum.in-1
  - sum.out -> tone.in
  - tone.low -> lag.in
  - lag.out -> end.in
  - end.out -> split.in
  - split.out-1 -> out.left
  - ${back ? 'split.out-2' : 'steady.out'} -> sum.in-2
`);
}

/** The tenth of chunks that were fastest: another program's turns are left out. */
function nsPerSample(patch, probes) {
  const renderer = new Renderer(patch, {
    sampleRate: RATE,
    edgesOf: () => () => undefined,
    probes,
  });
  const play = (samples) => {
    for (let n = 0; n < samples; n += BLOCK) renderer.next();
  };
  play(WARM);
  const times = Array.from({ length: CHUNKS }, () => {
    const start = performance.now();
    play(CHUNK / 4);
    return ((performance.now() - start) * 1e6) / (CHUNK / 4);
  }).sort((a, b) => a - b);
  return times[Math.floor(CHUNKS / 10)];
}
