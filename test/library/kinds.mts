// Kinds of module: those that there are, one of one's own, and the schema that an editor completes patches by.

import {
  define,
  facts,
  jackName,
  KINDS,
  kindNamed,
  NO_WIRE,
  patchSchema,
  readPatch,
  render,
  unplayable,
} from 'forehear';

const unheard: boolean[] = [];
const halver = define({
  kind: 'halver',
  about: 'Halves volts.',
  role: 'circuit',
  settings: {},
  jacks: () => [
    { name: 'in', direction: 'in', signal: 'audio', about: 'Volts.', facts: facts.plain() },
    { name: 'half', direction: 'out', signal: 'audio', about: 'Half.', facts: facts.volts(-5, 5) },
    { name: 'same', direction: 'out', signal: 'audio', about: 'Half.', facts: facts.volts(-5, 5) },
  ],
  create: (_, site) => {
    for (const jack of ['half', 'same']) unheard.push(site.heard(jack) === NO_WIRE);
    site.run({
      process(from, to, [input], [half]) {
        if (input && half) for (let i = from; i < to; i++) half[i] = 0.5 * (input[i] as number);
      },
    });
  },
  example: '',
});

const PATCH = `
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [hat], patterns: { a: { hat: "x---" } } }
  tone: { kind: oscillator }
  half: { kind: halver }
  out: { kind: output }
cables: [tone.sine -> half.in, half.half -> out.left]
`;
const kinds = [...KINDS, halver];
const { patch } = readPatch(PATCH, { file: 'half.yaml', kinds });
const silent = readPatch(PATCH.replace(/ *out: .*\n/, '').replace(', half.half -> out.left', ''), {
  file: 'half.yaml',
  kinds,
}).patch;
if (patch === undefined || silent === undefined) throw new Error('the patch has problems');
const [samples] = render(patch, { length: { unit: 'seconds', value: 0.1 } }).channels;

export const seen = {
  named: [kindNamed('envelope')?.kind, kindNamed('halver')?.kind ?? 'none'],
  completed: [KINDS, kinds].map((all) => JSON.stringify(patchSchema(all)).includes('"halver"')),
  unheard,
  peak: samples?.reduce((most, sample) => Math.max(most, sample), 0).toFixed(3),
  unplayable: [patch, silent].map((one) => unplayable(one).map(({ code }) => code)),
  from: patch.cables.map(({ from }) => jackName(from)),
};
