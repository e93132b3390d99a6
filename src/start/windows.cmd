@echo off
rem Double-click: opens steerworthy in the browser. The first time, its parts are put in place (internet needed once).
cd /d "%~dp0..\.."
where node >nul 2>nul
if errorlevel 1 (
	echo Node is not installed. Get version 20.19, 22 or 24 from its makers, install it, and double-click again.
	pause
	exit /b 1
)
if not exist node_modules\ (
	call npm ci
	if errorlevel 1 (
		echo The parts could not be put in place. Is the internet there? Read the lines above.
		pause
		exit /b 1
	)
)
call npm start -- %*
if errorlevel 1 pause
