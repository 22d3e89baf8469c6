// Volts: of every net, and of one net for given outputs.

import { KINDS, netlist, nodeLaw, nodeVolts, patchLevels, readPatch } from 'forehear';

const PATCH = `
modules:
  a: { kind: oscillator }
  b: { kind: oscillator }
  sum: { kind: multiple }
  out: { kind: output }
cables: [a.sine -> sum.in, b.sine -> sum.out-1, sum.out-2 -> out.left]
`;

const { patch, problems } = readPatch(PATCH, { file: 'two.yaml', kinds: KINDS });
if (patch === undefined) throw new Error(problems.map(({ message }) => message).join());
const net = netlist(patch).at({ module: 'out', jack: 'left' });
if (net === undefined) throw new Error('no plug');

export const seen = {
  joined: net.outputs.length,
  volts: nodeVolts(nodeLaw(net), [5, -1]).toFixed(4),
  high: patchLevels(patch).map(({ high }) => high.toFixed(4)),
  refused: [-0.1, 0.6, Number.NaN].map((tolerance) => {
    try {
      return patchLevels(patch, tolerance);
    } catch (error) {
      return String(error);
    }
  }),
};
