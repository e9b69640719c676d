#!/bin/sh
# Makes static/vendor/codemirror/codemirror.js from deploy/codemirror.js again. Needs Node and npm; nothing else here does.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cp "$here/codemirror.js" "$work/"
cd "$work"
npm init --yes >/dev/null
npm install --save-exact --silent @codemirror/state@6.7.6 @codemirror/view@6.43.15 @codemirror/commands@6.11.1 \
    @codemirror/autocomplete@6.20.4 @codemirror/language@6.13.1 @codemirror/streamparser@6.0.0 @lezer/common@1.5.5 \
    @lezer/highlight@1.2.5 @lezer/lr@1.4.12 @marijn/find-cluster-break@1.0.4 style-mod@4.1.5 crelt@1.0.7 \
    w3c-keyname@2.2.8 esbuild@0.28.2
npx esbuild codemirror.js --bundle --minify --format=esm --target=es2022 --legal-comments=none \
    --outfile="$here/../static/vendor/codemirror/codemirror.js"
cp node_modules/@codemirror/state/LICENSE "$here/../static/vendor/codemirror/LICENSE"
