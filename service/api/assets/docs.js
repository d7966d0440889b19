// Starts the reference on the service's own document. Whatever could call out is off; the page's policy forbids it too.
"use strict";

const reference = document.getElementById("reference");

Scalar.createApiReference(reference, {
  url: reference.dataset.document,
  theme: "none",
  layout: "modern",
  withDefaultFonts: false,
  telemetry: false,
  agent: { disabled: true },
  mcp: { disabled: true },
  showDeveloperTools: "never",
  hideClientButton: true,
  hideDarkModeToggle: true,
  persistAuth: false,
  documentDownloadType: "none",
  defaultOpenAllTags: false,
  expandAllResponses: false,
  orderSchemaPropertiesBy: "preserve",
  authentication: { preferredSecurityScheme: "key" },
  hiddenClients: {
    c: true, clojure: true, csharp: ["restsharp"], dart: true, fsharp: true, http: true, java: true, js: ["axios", "jquery", "ofetch", "xhr"],
    kotlin: true, node: true, objc: true, ocaml: true, php: true, powershell: true, python: ["python3", "aiohttp"],
    r: true, ruby: true, rust: true, shell: ["httpie", "wget"], swift: true,
  },
  defaultHttpClient: { targetKey: "shell", clientKey: "curl" },
  metaData: { title: document.title },
});
