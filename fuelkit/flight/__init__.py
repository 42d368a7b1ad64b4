"""What happens in a flight, when and why: computed from event to event, never scripted."""
