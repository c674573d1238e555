"""Pictures of letters and of SVG: the wiring, the filament path, the gates, the timeline. They judge nothing."""
