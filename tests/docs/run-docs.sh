#!/bin/sh
# run-docs.sh [--update] PAGE.md... - what the pages show is what happens
#
# Each page is a session of its own in an empty folder with the demonstration traces as traces/.
# A fence ```console holds commands, `$ ` ahead, and their output, both streams. A fence with a
# second word, as in ```ini tube.ini, is a file of that name that the session finds.
# --update puts what happens into the page: read the difference before you believe it.
set -u

top=$(cd "${srcdir:-.}" && pwd) || exit 99
PATH=$(pwd):$PATH
LC_ALL=C.UTF-8
export PATH LC_ALL

work=$(mktemp -d) || exit 99
trap 'rm -rf "$work"' EXIT
trap 'exit 99' INT TERM HUP

# Into folder $2: the files that page $1 holds. Beside it: $2.shown (its sessions as they stand) and
# $2.script (a shell script that prints the same, where the page is right).
take_apart()
{
    awk -v folder="$2" '
        function quoted(text)
        {
            gsub(/\047/, "\047\\\047\047", text)
            return "\047" text "\047"
        }
        /^```/ && fence == "" {
            split(substr($0, 4), words, " ")
            fence = words[1] == "console" ? "console" : words[2] != "" ? "file" : "other"
            name = folder "/" words[2]
            if (fence == "console") {
                print > (folder ".shown")
                print "echo \047```console\047" > (folder ".script")
            }
            next
        }
        /^```[ \t]*$/ {
            fence = ""
            next
        }
        fence == "file" { print > name }
        fence != "console" { next }
        { print > (folder ".shown") }
        command != "" || /^\$ / {
            command = command == "" ? substr($0, 3) : command "\n" $0
            if ($0 !~ /\\$/) {
                printf "printf \047$ %%s\\n\047 %s\n", quoted(command) > (folder ".script")
                print command > (folder ".script")
                command = ""
            }
        }
    ' "$1"
}

# Page $1 with the sessions of $2 in the place of its own.
put_together()
{
    awk -v printed="$2" '
        /^```console/ {
            print
            if (!begun++)
                getline line < printed
            while ((getline line < printed) > 0 && line != "```console")
                print line
            inside = 1
        }
        /^```[ \t]*$/ { inside = 0 }
        !inside { print }
    ' "$1"
}

run_page()
{
    page=$1
    folder=$work/$(basename "$page" .md)
    mkdir "$folder" && ln -s "$top/traces" "$folder/traces" || exit 99
    take_apart "$page" "$folder"
    if ! test -f "$folder.script"; then
        echo "$page: no command in a console fence; take it off the list of tests"
        return 1
    fi
    (cd "$folder" && exec sh "$folder.script" >"$folder.printed" 2>&1 </dev/null)
    if test -n "$update"; then
        put_together "$page" "$folder.printed" >"$folder.page" && cat "$folder.page" >"$page"
    elif diff -u --label "$page" --label "what happens" "$folder.shown" "$folder.printed"; then
        echo "$page: $(grep -c '^\$ ' "$folder.shown") commands do what the page shows"
    else
        return 1
    fi
}

update=
if test "${1-}" = --update; then
    update=yes
    shift
fi
status=0
for page in "$@"; do
    run_page "$page" || status=1
done
exit $status
