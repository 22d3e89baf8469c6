/** Parses programs, for tests of constructs that they must not use. */

import { type ParserOptions, parseAst } from 'rolldown/parseAst';

/** Any part of a program (ESTree, with what TypeScript adds). */
export interface Node {
  readonly type: string;
  readonly start: number;
  readonly [field: string]: unknown;
}

/** Every node of a program with the one around it, in no order. @param name tells the language. */
export function* nodesOf(
  name: string,
  text: string,
): Generator<{ readonly node: Node; readonly parent: Node | undefined }> {
  const lang = (/\.([jt]sx?)$/.exec(name)?.[1] ?? 'js') as NonNullable<ParserOptions['lang']>;
  const left: { node: Node; parent: Node | undefined }[] = [
    { node: parseAst(text, { lang }) as unknown as Node, parent: undefined },
  ];
  for (let here = left.pop(); here !== undefined; here = left.pop()) {
    yield here;
    for (const field of Object.values(here.node))
      for (const value of Array.isArray(field) ? field : [field])
        if (isNode(value)) left.push({ node: value, parent: here.node });
  }
}

export function isNode(value: unknown): value is Node {
  return typeof value === 'object' && value !== null && 'type' in value && 'start' in value;
}

/** Which line a place is in, from 1. */
export function lineAt(text: string, start: number): number {
  return text.slice(0, start).split('\n').length;
}

/** The text of a literal, also of a template with nothing to fill in; undefined for what is none. */
export function literal(node: unknown): string | undefined {
  if (!isNode(node)) return undefined;
  if (node.type === 'Literal' && typeof node.value === 'string') return node.value;
  if (node.type !== 'TemplateLiteral') return undefined;
  const [first, ...others] = node.quasis as { value: { cooked: string } }[];
  return others.length === 0 ? first?.value.cooked : undefined;
}
