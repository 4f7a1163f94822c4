about="the report in a browser: pictures, print, accessibility, hostile names"
minutes=1

needs() {
    tool_rust
    tool chromium chromium
    tool node nodejs
    tool npm npm
}

run() {
    local folder=target/report
    tool_built || return
    rm -rf "$folder"
    check "results and reports are made" bash tests/job/report/results.sh "$BOBWEIGHT" "$folder" || return
    if ! browser_packages "$folder/npm" >"$BOBWEIGHT_LOGS/report-npm.log" 2>&1; then
        tail -5 "$BOBWEIGHT_LOGS/report-npm.log"
        not_run "the report in a browser" "npm ci in a folder with tests/job/report/package.json and its lock file"
        return
    fi
    counted "the reports in a browser" env NODE_MODULES_OF="$folder/npm" node tests/job/report/look.mjs "$folder" \
        "$folder"/{whole,bench,hostile,engine,begun}.html
}

browser_packages() {
    mkdir -p "$1"
    cp tests/job/report/package.json tests/job/report/package-lock.json "$1"
    (cd "$1" && PUPPETEER_SKIP_DOWNLOAD=1 npm ci --no-audit --no-fund)
}
