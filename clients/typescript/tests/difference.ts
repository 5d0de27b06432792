/** The first place where two JSON values differ; "" where they are equal, numbers within a relative 1e-9. */
export function differenceOf(expected: unknown, found: unknown, path = ''): string {
  if (typeof expected === 'number' && typeof found === 'number') {
    const same = Math.abs(expected - found) <= 1e-9 * Math.max(Math.abs(expected), Math.abs(found));
    return same ? '' : `${path}: ${found}, expected ${expected}`;
  }
  if (Array.isArray(expected) && Array.isArray(found) && expected.length === found.length)
    return first(expected.map((item, i) => () => differenceOf(item, found[i], `${path}[${i}]`)));
  if (isObject(expected) && isObject(found)) {
    return first(
      [...new Set([...Object.keys(expected), ...Object.keys(found)])].map((key) => () => {
        if (!(key in found)) return `${path}.${key}: left out`;
        if (!(key in expected)) return `${path}.${key}: not expected`;
        return differenceOf(expected[key], found[key], `${path}.${key}`);
      }),
    );
  }
  return Object.is(expected, found) ? '' : `${path}: ${JSON.stringify(found)}, expected ${JSON.stringify(expected)}`;
}

function first(differences: (() => string)[]): string {
  for (const difference of differences) {
    const found = difference();
    if (found !== '') return found;
  }
  return '';
}

function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
