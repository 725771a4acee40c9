#!/bin/sh
# The demonstration: the practice site in the wizard. One that was begun goes on
# where it was left. Where there is no terminal the same command makes a fresh one
# and walks it with the answers beside it.
set -eu
program=$1 folder=$2
if [ -t 0 ] && [ -t 1 ]; then
	if [ -e "$folder/site.yaml" ]; then
		echo "going on with $folder/site.yaml; to begin anew, remove the folder $folder"
	else
		"$program" new --practice "$folder"
	fi
	exec "$program" walk "$folder/site.yaml"
fi
rm -rf "$folder"
"$program" new --practice "$folder"
exec "$program" walk --answers "$folder/answers.yaml" "$folder/site.yaml"
