// What the server writes before the worker's own text, and what the library does not know yet.

declare const BUILD: string;
declare const FILES: { url: string; sha256: string; type: string; later: boolean }[];

interface ExtendableEvent {
  addRoutes?(rules: object[]): Promise<void>;
}
