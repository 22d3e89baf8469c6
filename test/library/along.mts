// Patching along: what to measure after each cable, and what else the meter may show.

import { alongSteps, KINDS, readPatch, suspectsAt, voltsAt } from 'forehear';

const PATCH = `
modules:
  drums: { kind: rhythm, channels: [hit], patterns: { beat: { hit: "x---" } } }
  adapt: { kind: trigger-converter }
  shape: { kind: envelope, trigger: switch }
cables: [drums.hit -> adapt.voltage-in, adapt.switch-out -> shape.trigger]
`;

const { patch, problems } = readPatch(PATCH, { file: 'hit.yaml', kinds: KINDS });
if (patch === undefined) throw new Error(problems.map(({ message }) => message).join());
const steps = alongSteps(patch);
const last = steps.at(-1);
if (last === undefined) throw new Error('no cable');

export const seen = {
  cables: steps.map(({ name, group, cable }) => `${cable.number} ${name}, ${group}`),
  volts: steps.map((step) => {
    const { rest, low, high } = voltsAt(step.patch, step.cable.to);
    return [rest, low, high].map((volts) => volts.toFixed(3));
  }),
  suspects: suspectsAt(last).map(({ type, volts }) => `${type} ${volts.rest.toFixed(3)}`),
};
