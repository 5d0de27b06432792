import { toJson, fromBinary, type DescMessage } from '@bufbuild/protobuf';
import { status as grpcStatus, type ServiceError as GrpcError } from '@grpc/grpc-js';

import type { StatusDetails } from '../generated/contract.js';
import { detailRegistry, messageNamed } from './contract.js';
import { shown } from './shown.js';

/** Why a call was not answered, by its name in gRPC. */
export type Code = Exclude<keyof typeof grpcStatus, 'OK'>;

/** One wrong field of a request. */
export interface Violation {
  /** Path in the request, e.g. "record.machine.core.bore_diameter". */
  readonly field: string;
  /** What was given, with its unit, and what would be accepted. */
  readonly description: string;
}

/** A call that was not answered, by the server or because it was never sent. */
export class ServiceError extends Error {
  override readonly name = 'ServiceError';
  /** "INVALID_ARGUMENT", "UNAVAILABLE", ... */
  readonly code: Code;
  /** One for every wrong field. */
  readonly violations: readonly Violation[];
  /**
   * Of a write: whether it was made is not known after UNAVAILABLE, DEADLINE_EXCEEDED and CANCELLED; the same request
   * with this id is made once, however often it is sent.
   */
  declare readonly requestId?: string;

  constructor(
    code: Code,
    message: string,
    rest: { violations?: readonly Violation[]; requestId?: string; cause?: unknown } = {},
  ) {
    super(message, rest.cause === undefined ? {} : { cause: rest.cause });
    this.code = code;
    this.violations = rest.violations ?? [];
    if (rest.requestId !== undefined) this.requestId = rest.requestId;
  }

  /** The same of one item of an answer that carries a status. */
  static ofStatus(status: StatusDetails): ServiceError {
    if (typeof status?.code !== 'number')
      throw new TypeError(`status: got ${shown(status)}, accepted: the status of an answer`);
    return new ServiceError(codeOf(status.code), status.message, { violations: violationsOf(status) });
  }
}

/** What keeps a request from being sent, told as the server would tell it. */
export function refusal(violations: readonly Violation[]): ServiceError {
  const message = violations
    .map(({ field, description }) => (field === '' ? description : `${field}: ${description}`))
    .join('; ');
  return new ServiceError('INVALID_ARGUMENT', message, { violations });
}

/** Where a call went and what it carried, for the text of its error. */
export interface Sent {
  readonly address: string;
  readonly secure: boolean;
  readonly closed: boolean;
  /** Over this connection something was answered: both sides speak alike. */
  readonly answered: boolean;
  readonly requestId?: string | undefined;
  readonly signal?: AbortSignal | undefined;
}

/** What a failed call of gRPC says. */
export function errorOfCall(error: GrpcError, sent: Sent): ServiceError {
  const code = codeOf(error.code);
  // Without what grpc-js adds for those who look for a fault in it: moments, and a note that is mostly empty.
  const said = error.details
    .replace(/ \(20[-0-9T:.]+Z\)|Resolution note: *$/g, '')
    .replace(/\s+/g, ' ')
    .trim();
  const details = detailsOf(error);
  const rest = {
    violations: details === undefined ? [] : violationsOf(details),
    ...(sent.requestId ? { requestId: sent.requestId } : {}),
  };
  if (code === 'CANCELLED' && sent.signal?.aborted)
    return new ServiceError(code, 'cancelled by its signal', { ...rest, cause: sent.signal.reason });
  if (code === 'CANCELLED' && sent.closed) return new ServiceError(code, 'cancelled by close() of the client', rest);
  if (details !== undefined) return new ServiceError(code, said, rest);
  if (code === 'UNAVAILABLE')
    return new ServiceError(
      code,
      `no answer from ${sent.address}: ${said || 'no reason given'}${sent.answered ? '' : hint(said, sent.secure)}`,
      rest,
    );
  if (code === 'DEADLINE_EXCEEDED')
    return new ServiceError(
      code,
      `no answer from ${sent.address} within the deadline; deadlineSeconds gives it longer`,
      rest,
    );
  if (code === 'UNIMPLEMENTED')
    return new ServiceError(code, `${sent.address} does not know this call${said ? `: ${said}` : ''}`, rest);
  return new ServiceError(code, said, rest);
}

function codeOf(number: number): Code {
  const name = grpcStatus[number];
  return name === undefined || name === 'OK' ? 'UNKNOWN' : (name as Code);
}

function detailsOf(error: GrpcError): StatusDetails | undefined {
  const [bytes] = error.metadata?.get('grpc-status-details-bin') ?? [];
  if (!(bytes instanceof Buffer)) return undefined;
  const type: DescMessage = messageNamed('StatusDetails');
  try {
    const plain = toJson(type, fromBinary(type, bytes), { registry: detailRegistry, useProtoFieldName: true });
    return plain as unknown as StatusDetails;
  } catch {
    return undefined; // of a server that is none of ours: code and message stand
  }
}

function violationsOf(status: StatusDetails): Violation[] {
  return (status.details ?? [])
    .filter((detail) => detail['@type']?.endsWith('/google.rpc.BadRequest'))
    .flatMap((detail) => (detail['field_violations'] as Partial<Violation>[] | undefined) ?? [])
    .map(({ field = '', description = '' }) => ({ field, description }));
}

// What a connection that did not come about may lack: TLS names the broken rule, or nothing at all.
function hint(said: string, secure: boolean): string {
  if (secure && /wrong version number/.test(said)) return ' (does the server speak plain text? then leave ca out)';
  if (secure && /altname/i.test(said)) return ' (reach the server by a name that stands in its certificate)';
  if (secure && /certificate/i.test(said) && !/alert/.test(said))
    return ' (is the certificate of the server signed by this ca, and still valid?)';
  if (!/socket|reset|dropped|hang up|disconnected|alert|Failed to connect/i.test(said)) return '';
  return secure
    ? ' (does the server want a certificate of ours, of an authority that it trusts and not out of date?)'
    : ' (does the server want TLS? then give ca)';
}
