/** A value as an error tells it. */
export function shown(given: unknown): string {
  if (given === undefined || given === null) return 'nothing';
  if (Array.isArray(given)) return 'an array';
  if (typeof given === 'object')
    return Object.prototype.toString.call(given) === '[object Object]' ? 'an object' : `a ${given.constructor.name}`;
  const text = typeof given === 'string' ? JSON.stringify(given) : String(given);
  return text.length <= 60 ? text : `${text.slice(0, 57)}...`;
}
