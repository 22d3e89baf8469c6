// What will go wrong with a patch.

import { check, KINDS, readPatch } from 'forehear';

const PATCH = `
modules:
  drums: { kind: rhythm, channels: [hit], patterns: { a: { hit: "x---" } }, song: [a] }
  shape: { kind: envelope, trigger: switch }
  hiss: { kind: noise }
  level: { kind: amplifier }
  out: { kind: output }
cables:
  - drums.hit -> shape.trigger
  - shape.out -> level.control
  - hiss.white -> level.in
  - level.out -> out.left
`;

const { patch } = readPatch(PATCH, { file: 'hit.yaml', kinds: KINDS });
if (patch === undefined) throw new Error('the patch has problems');

export const seen = check(patch).map(({ rule, severity, place, figures }) => {
  return { rule, severity, line: place.line, rest: Number(figures.lowVolts).toFixed(3) };
});
