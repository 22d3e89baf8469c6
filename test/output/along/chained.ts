/** A patch text: an oscillator through a number of attenuators, one after another, to the output. */
export function chained(count: number): string {
  const names = Array.from({ length: count }, (_, index) => `one-${index}`);
  return `
modules:
  tone: { kind: oscillator }
${names.map((name) => `  ${name}: { kind: attenuator }`).join('\n')}
  out: { kind: output }
cables:
  - tone.sine -> one-0.in
${names
  .slice(1)
  .map((name, index) => `  - one-${index}.out -> ${name}.in`)
  .join('\n')}
  - one-${count - 1}.out -> out.left
`;
}
