about="the documentation builds without a warning; completions and manual pages of every command"
minutes=2

needs() { tool_rust; }

run() {
    check "cargo doc" env RUSTDOCFLAGS="-D warnings" cargo doc --workspace --no-deps
    # The tool is read by those who work on it: with what is private.
    check "cargo doc of the whole tool" env RUSTDOCFLAGS="-D warnings" cargo doc --no-deps -p bobweight-tool --document-private-items
    check "completions and manual pages are made" made || return
    check "bash completes every command" bash_completes
    check "every command has its manual page" manual_of_each
}

folder=target/documents
made() { rm -rf $folder && cargo run --quiet -p bobweight-tool --example documents -- $folder; }

commands() { cargo run --quiet -p bobweight-tool --example documents -- --commands; }

# What bash offers behind `bobweight ` is every command there is.
bash_completes() {
    diff <(commands | sort) <(
        bash --norc -c '
            . "$1"
            COMP_WORDS=(bobweight "") COMP_CWORD=1
            _bobweight bobweight "" bobweight
            printf "%s\n" "${COMPREPLY[@]}"' _ $folder/completions/bobweight.bash | grep -v "^-" | sort
    )
}

manual_of_each() {
    local command status=0
    for command in $(commands); do
        [ "$command" = help ] || grep -q "^\.SH" "$folder/man/bobweight-$command.1" || { echo "none of $command"; status=1; }
    done
    return $status
}
