#!/bin/sh
# Fills the corpus of each target from the files that the tests use.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
root=$here/../..
mkdir -p "$here/corpus/read_csv" "$here/corpus/probe" "$here/corpus/profile"
for file in "$root"/tests/fixtures/csv/*; do
    case $file in
    *.truth.json) ;;
    *) cp "$file" "$here/corpus/read_csv/" ;;
    esac
done
cp "$here"/corpus/read_csv/* "$here/corpus/probe/"
cp "$root"/assets/controllers/*.toml "$root"/src/controllers/template.toml "$here/corpus/profile/"
