"""What a device needs to go on without a network: the worker, the manifest, and the page shown for what is not kept."""
