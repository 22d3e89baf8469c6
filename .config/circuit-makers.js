// The host can call functions, not constructors: gives each class that src/circuits/index.ts exports a
// function of its name, `filter` for `Filter`, which makes one and adds it to a scheduler.
import { NodeKind } from 'assemblyscript';

const INDEX = 'src/circuits/index';

function classesOf(source) {
  return source.statements.filter(({ kind }) => kind === NodeKind.ClassDeclaration);
}

/** The types of arguments that the host passes, besides numbers. */
const IMPORTS = `import { Scheduler } from './core/scheduler';
import { Wire } from './core/wire';
import { TriggerInput } from './dsp/trigger-input';
`;

/** The types and names of its constructor's parameters; the constructor may be inherited. */
function taken(made, all) {
  const own = made.members.find(({ name }) => name.text === 'constructor');
  if (own !== undefined) return own.signature.parameters;
  if (made.extendsType === null) return [];
  const parent = all.find(({ name }) => name.text === made.extendsType.name.identifier.text);
  return taken(parent, all);
}

function maker(made, all) {
  const { text } = made.name;
  const parameters = taken(made, all);
  const names = parameters.map(({ name }) => name.text).join(', ');
  const list = parameters.map(({ name, type }) => `, ${name.text}: ${type.range}`).join('');
  return `export function ${text[0].toLowerCase()}${text.slice(1)}(scheduler: Scheduler${list}): ${text} {
  const made = new ${text}(${names});
  scheduler.add(made);
  return made;
}
`;
}

/** A transform of the compiler, which calls it when it has read the sources. */
export class Makers {
  afterParse(parser) {
    const { sources } = parser;
    const all = sources.flatMap(classesOf);
    const index = sources.find(({ internalPath }) => internalPath === INDEX);
    const makers = index.statements.flatMap(({ members, path }) => {
      const made = all.filter(({ name }) =>
        members.some(({ localName }) => localName.text === name.text),
      );
      const names = made.map(({ name }) => name.text);
      return [
        ...(made.length > 0 ? [`import { ${names.join(', ')} } from '${path.value}';`] : []),
        ...made.map((each) => maker(each, all)),
      ];
    });
    parser.parseFile(`${IMPORTS}${makers.join('\n')}`, 'src/circuits/makers.ts', true);
  }
}
