export { connect, type Client, type ConnectOptions, type Pem } from './connect.js';
export { writeDocument } from './documents.js';
export { ServiceError, type Code, type Violation } from './errors.js';
export type { CallOptions, Calls, Request } from './calls.js';
export type * from '../generated/contract.js';
