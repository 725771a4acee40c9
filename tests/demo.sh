#!/bin/sh
# The demonstration: a fresh practice site, opened in the wizard; where there is
# no terminal the same command walks it with the answers beside it.
set -eu
program=$1 folder=$2
rm -rf "$folder"
"$program" new --practice "$folder"
exec "$program" walk --answers "$folder/answers.yaml" "$folder/site.yaml"
