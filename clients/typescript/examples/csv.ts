// CSV as RFC 4180 has it: commas, cells in double quotes where they hold one of ," or a line end, "" for a quote there.

/** A file that cannot be read as CSV. */
export class CsvError extends Error {}

/** One row and the line of the file it begins on. */
export interface Row {
  readonly line: number;
  readonly cells: readonly string[];
}

/** The rows of a file. Lines end in LF or CRLF; a byte order mark in front and empty lines are passed over. */
export function parseCsv(text: string): Row[] {
  const rows: Row[] = [];
  // One cell and what ends it. In quotes anything but a quote alone; without, neither quote, comma nor line end.
  const cell = /(?:"((?:[^"]|"")*)"|([^",\r\n]*))(,|\r?\n|$)/y;
  let line = 1;
  let started = 1;
  let cells: string[] = [];
  cell.lastIndex = text.startsWith('\uFEFF') ? 1 : 0;
  while (cell.lastIndex < text.length || cells.length > 0) {
    const at = cell.lastIndex;
    const match = cell.exec(text);
    if (match === null) throw new CsvError(`line ${line}: ${fault(text.slice(at))}`);
    const [whole, quoted, plain = '', end] = match;
    line += whole.split('\n').length - 1;
    cells.push(quoted === undefined ? plain : quoted.replaceAll('""', '"'));
    if (end === ',') continue;
    if (cells.length > 1 || cells[0] !== '' || quoted !== undefined) rows.push({ line: started, cells });
    cells = [];
    started = line;
  }
  return rows;
}

function fault(rest: string): string {
  if (!rest.startsWith('"')) return 'a quote or a line end inside a cell without quotes around it';
  return /^"(?:[^"]|"")*"/.test(rest)
    ? 'text after the closing quote of a cell'
    : 'a quote opens a cell and none closes it';
}

/** A table as CSV, with CRLF as RFC 4180 asks. */
export function writeCsv(rows: readonly (readonly string[])[]): string {
  const written = (text: string) => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
  return rows.map((cells) => `${cells.map(written).join(',')}\r\n`).join('');
}
