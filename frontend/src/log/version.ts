/** Version of the app, told to the server with every batch. A test holds it equal to the package's. */
export const APP_VERSION = "0.1.0";
