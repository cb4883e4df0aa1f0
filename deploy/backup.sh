#!/usr/bin/env bash
# Saves the database and the files: backup.sh FOLDER
# Makes FOLDER/bandops-<UTC time>/ with database.dump, media.tar.gz and SHA256SUMS, the first two
# encrypted (.gpg) with the passphrase in BACKUP_KEY_FILE where that is set, and deletes all but
# the newest KEEP (14). DATABASE_URL and MEDIA_ROOT come from the environment or from the file
# that BANDOPS_ENV names. pg_dump must be as new as the server. Sessions and files under review
# are not saved: whoever reads a backup must not be signed in by it.
set -euo pipefail
umask 077
# shellcheck source=common.sh
. "$(dirname "${BASH_SOURCE[0]}")/common.sh"

[[ $# -eq 1 ]] || die "usage: $0 FOLDER"
[[ -z ${BANDOPS_ENV:-} ]] || load_env "$BANDOPS_ENV"
use_database
media=${MEDIA_ROOT:?MEDIA_ROOT is not set}
[[ -d $media ]] || die "MEDIA_ROOT is no folder: $media"
keep=${KEEP:-14}
[[ $keep =~ ^[1-9][0-9]*$ ]] || die "KEEP must be a number from 1."

name=bandops-$(date -u +%Y%m%dT%H%M%SZ)
[[ ! -e $1/$name ]] || die "$1/$name exists."
work=$1/.$name.part
mkdir -p "$1"
mkdir "$work"
trap 'rm -rf "$work"' EXIT

# The database first: every file it names is then still there when the files are read.
pg_dump --format=custom --no-owner --no-acl --file="$work/database.dump" \
	--exclude-table-data=django_session --exclude-table-data=lib_importupload \
	--exclude-table-data=lib_sentform
pg_restore --list "$work/database.dump" >/dev/null
status=0
tar --create --gzip --file="$work/media.tar.gz" --directory="$media" \
	--exclude='./.before-restore-*' --exclude=./.restore . || status=$?
((status <= 1)) || die "The files could not be saved." # 1: a file changed meanwhile
[[ -z ${BACKUP_KEY_FILE:-} ]] || encrypt "$work/database.dump" "$work/media.tar.gz"
(cd "$work" && sha256sum database.dump* media.tar.gz* >SHA256SUMS)
mv "$work" "$1/$name"
echo "Saved $1/$name ($(du -sh "$1/$name" | cut -f1))"

find "$1" -mindepth 1 -maxdepth 1 -type d -name 'bandops-*Z' | sort -r | tail -n "+$((keep + 1))" |
	while IFS= read -r old; do
		rm -rf "$old"
		echo "Deleted $old"
	done
